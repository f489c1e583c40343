// Types of the API and of plan.json, made from the documents that the tests of the server hold it to.
import { readFile, writeFile } from "node:fs/promises";
import openapiTS, { astToString } from "openapi-typescript";

const reference = new URL("../docs/reference/", import.meta.url);
const head = "// Made by types.mjs at every build.\n";

const api = JSON.parse(await readFile(new URL("openapi.json", reference), "utf8"));
await writeFile(new URL("src/api/schema.d.ts", import.meta.url), head + astToString(await openapiTS(api)));

const { $defs, ...plan } = JSON.parse((await readFile(new URL("plan.schema.json", reference), "utf8")).replaceAll("#/$defs/", "#/components/schemas/"));
delete plan.$schema;
delete plan.$id;
const wrapped = { openapi: "3.1.0", info: { title: "plan.json", version: "1" }, paths: {}, components: { schemas: { ...$defs, plan } } };
await writeFile(new URL("src/api/plan.d.ts", import.meta.url), head + astToString(await openapiTS(wrapped)));
