import { svelte } from "@sveltejs/vite-plugin-svelte";
import { defineConfig } from "vitest/config";

// While the page is worked on, `npm run dev` asks the server that `steamwright serve` started.
const server = `http://127.0.0.1:${process.env["PORT"] ?? "8000"}`;

export default defineConfig({
  plugins: [svelte()],
  build: { outDir: "../src/steamwright/web/static", emptyOutDir: true, target: "es2022", modulePreload: { polyfill: false }, license: { fileName: "licenses.md" } },
  server: { proxy: { "/api": { target: server, headers: { origin: server } }, "/g": server } },
  test: { include: ["src/**/*.test.ts"], environment: "node", testTimeout: 30_000 },
});
