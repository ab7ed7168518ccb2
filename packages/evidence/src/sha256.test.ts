import { describe, expect, it } from "vitest";
import { toHex, utf8 } from "./bytes.ts";
import { sha256 } from "./sha256.ts";
import { sha256 as anywhere } from "./sha256-anywhere.ts";
import { sha256 as inNode } from "./sha256-in-node.ts";

describe("SHA-256", () => {
  // FIPS 180-4 examples, as NIST's "Examples with Intermediate Values" gives them.
  it.each([
    ["", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"],
    ["abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"],
    [
      "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
      "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ],
  ])("of “%s”, by either maker", (text, digest) => {
    expect(toHex(anywhere(utf8(text)))).toBe(digest);
    expect(toHex(inNode(utf8(text)))).toBe(digest);
  });

  it("is Node's own here", () => {
    expect(sha256).toBe(inNode);
  });
});
