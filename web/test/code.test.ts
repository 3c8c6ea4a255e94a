import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { bytesOf, unpack } from "../src/wire/code";

const fixture = JSON.parse(readFileSync(new URL("./code-fixture.json", import.meta.url), "utf8")) as {
  frames: number[][];
  coded: string;
};

test("frames written by the report crate come back level for level", () => {
  const frames = unpack(bytesOf(fixture.coded), fixture.frames[0]?.length ?? 0);
  expect(frames.map((f) => [...f])).toEqual(fixture.frames);
});

test("a token that runs past its frame is refused", () => {
  expect(() => unpack(Uint8Array.of(4), 4)).toThrow("runs past");
});

test("a frame that ends early is refused", () => {
  expect(() => unpack(Uint8Array.of(1), 4)).toThrow("ends after 2 of 4");
});
