import { describe, expect, it } from "vitest";
import { Api, NoAnswer } from "./client";

describe("a request that is never answered", () => {
  it("counts as no answer, so that what was to be saved is sent again", async () => {
    const hangs = (_: string, init: RequestInit): Promise<Response> =>
      new Promise((_answer, fail) => init.signal?.addEventListener("abort", () => fail(init.signal?.reason)));
    await expect(new Api(hangs as never, 20).save("job", {}, 1)).rejects.toBeInstanceOf(NoAnswer);
  });
});
