import { expect, it } from "vitest";
import { findUnkeepableText } from "./find-unkeepable-text.ts";

// RFC 6901 for the pointers: "~" is written ~0 and "/" is written ~1. U+1F511 is a whole surrogate pair in UTF-16.
it.each([
  [{ remarks: "a\0b" }, "/remarks"],
  [{ passes: [{ runs: ["1", "\ud800"] }] }, "/passes/0/runs/1"],
  [{ "a/b~c": "\0" }, "/a~1b~0c"],
  [{ words: { "\0": "x" } }, "/words"],
  ["\udc00", ""],
  [{ remarks: "Key \u{1f511}, tab\t and line\n", count: 3, none: null, no: undefined }, null],
  [undefined, null],
])("%j: %s", (value, pointer) => {
  expect(findUnkeepableText(value)).toBe(pointer);
});
