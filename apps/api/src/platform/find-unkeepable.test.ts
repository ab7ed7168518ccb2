import { expect, it } from "vitest";
import { findUnkeepable } from "./find-unkeepable.ts";

// RFC 6901 for the pointers: "~" is written ~0 and "/" is written ~1. U+1F511 is a whole surrogate pair in UTF-16.
it.each([
  [{ remarks: "a\0b" }, "/remarks"],
  [{ passes: [{ runs: ["1", "\ud800"] }] }, "/passes/0/runs/1"],
  [{ "a/b~c": "\0" }, "/a~1b~0c"],
  [{ words: { "\0": "x" } }, "/words"],
  ["\udc00", ""],
])("%j: %s", (value, pointer) => {
  expect(findUnkeepable(value)).toEqual({ pointer, detail: "Must not contain control characters." });
});

it.each([[{ remarks: "Key \u{1f511}, tab\t and line\n", count: 3, none: null, no: undefined }], [undefined]])(
  "%j: kept",
  (value) => {
    expect(findUnkeepable(value)).toBeNull();
  },
);

it.each([65, 5_000, 100_000])("refuses %i levels without going through them", (levels) => {
  expect(findUnkeepable(JSON.parse("[".repeat(levels) + "]".repeat(levels)))).toEqual({
    pointer: "/0".repeat(64),
    detail: "Must not have more than 64 levels.",
  });
});

it("takes 64 levels", () => {
  expect(findUnkeepable(JSON.parse("[".repeat(64) + "]".repeat(64)))).toBeNull();
});
