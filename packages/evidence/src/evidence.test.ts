import { createHash } from "node:crypto";
import { describe, expect, it } from "vitest";
import { fromHex, toHex, utf8 } from "./bytes.ts";
import { canonicalJson } from "./canonical-json.ts";
import { commitment } from "./commitment.ts";
import { leafHash, nodeHash } from "./leaf-and-node-hash.ts";
import { ledgerEntryHash, ledgerEntryText } from "./ledger-entry.ts";
import { merkleTreeHash } from "./merkle-tree-hash.ts";
import { isUuidV7, uuidV7 } from "./uuid-v7.ts";

describe("canonical JSON", () => {
  it("sorts members by UTF-16 code units and escapes as RFC 8785 section 3.2.3 shows", () => {
    // RFC 8785 section 3.2.3, the sorting example (without its number members).
    const value = {
      "\u20ac": "Euro Sign",
      "\r": "Carriage Return",
      "\ufb33": "Hebrew Letter Dalet With Dagesh",
      "1": "One",
      "\ud83d\ude00": "Emoji: Grinning Face",
      "\u0080": "Control",
      "\u00f6": "Latin Small Letter O With Diaeresis",
    };
    expect(Object.values(JSON.parse(canonicalJson(value)) as Record<string, string>).sort()).toEqual(
      Object.values(value).sort(),
    );
    // The order that the RFC prints. JSON.parse would move the integer-like key, so look at the text.
    const order = ["Carriage Return", "One", "Control", "Latin Small", "Euro Sign", "Emoji", "Hebrew"];
    const positions = order.map((word) => canonicalJson(value).indexOf(word));
    expect(positions).toEqual([...positions].sort((a, b) => a - b));
    expect(Math.min(...positions)).toBeGreaterThan(0);
  });

  it("escapes control characters as RFC 8785 section 3.2.2.2 asks", () => {
    expect(canonicalJson({ string: '\u20ac$\u000f\nA\'B"\\"/' })).toBe(
      '{"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\"/"}',
    );
  });

  it("refuses a binary fraction, an unsafe integer and a lone surrogate", () => {
    expect(() => canonicalJson({ registration: 100.04 })).toThrow(RangeError);
    expect(() => canonicalJson([2 ** 53])).toThrow(RangeError);
    expect(() => canonicalJson("\ud800")).toThrow(RangeError);
  });

  it("leaves out what is undefined and keeps null", () => {
    expect(canonicalJson({ a: undefined, b: null, c: -0 })).toBe('{"b":null,"c":0}');
  });
});

describe("Merkle tree hash", () => {
  // Source: the reference vectors that implementations of RFC 6962 share (leaves and roots for 0..8 leaves).
  const leaves = [
    "",
    "00",
    "10",
    "2021",
    "3031",
    "40414243",
    "5051525354555657",
    "606162636465666768696a6b6c6d6e6f",
  ];
  const roots = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
  ];

  it("gives the published roots for 0 to 8 leaves", () => {
    const hashes = leaves.map((leaf) => leafHash(fromHex(leaf)));
    expect(roots.map((_, size) => toHex(merkleTreeHash(hashes.slice(0, size))))).toEqual(roots);
  });

  it("gives the published leaf and node hashes of texts", () => {
    expect(toHex(leafHash(utf8("L123456")))).toBe(
      "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56",
    );
    expect(toHex(nodeHash(utf8("N123"), utf8("N456")))).toBe(
      "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb",
    );
  });
});

describe("commitment to a personal value", () => {
  const salt = fromHex("000102030405060708090a0b0c0d0e0f");

  it("is SHA-256 over domain, salt length, salt and value, as another SHA-256 computes it", () => {
    const expected = createHash("sha256")
      .update("sealbook/personal/1\n")
      .update(Uint8Array.of(16))
      .update(salt)
      .update("Odalys Brandt")
      .digest("hex");
    expect(commitment(salt, "Odalys Brandt")).toBe(expected);
  });

  it("refuses a short salt", () => {
    expect(() => commitment(salt.slice(1), "Odalys Brandt")).toThrow(RangeError);
  });
});

describe("ledger entry", () => {
  const entry = {
    id: "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
    at: "2026-03-02T14:05:06.789Z",
    actorId: null,
    action: "meterTest.record",
    subjectType: "meterTest",
    subjectId: "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
    reason: null,
    payload: '{"average":"100.04"}',
  };

  it("hashes its canonical text as an RFC 6962 leaf, as another SHA-256 computes it", () => {
    const expected = createHash("sha256")
      .update(Uint8Array.of(0))
      .update(ledgerEntryText(entry))
      .digest("hex");
    expect(ledgerEntryHash(entry)).toBe(expected);
  });

  it("changes its hash when any member changes", () => {
    const changed = [
      { ...entry, at: "2026-03-02T14:05:06.790Z" },
      { ...entry, actorId: entry.id },
      { ...entry, reason: "typing slip" },
      { ...entry, payload: '{"average":"100.05"}' },
    ];
    expect(new Set([entry, ...changed].map(ledgerEntryHash)).size).toBe(5);
  });
});

describe("UUID version 7", () => {
  it("gives the example of RFC 9562 appendix A.6", () => {
    expect(uuidV7(0x017f22e279b0, fromHex("0cc318c4dc0c0c07398f"))).toBe(
      "017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
    );
    expect(isUuidV7("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")).toBe(true);
    expect(isUuidV7("919108f7-52d1-4320-9bac-f847db4148a8")).toBe(false);
  });

  it("refuses a time before 1970 and a wrong number of random bytes", () => {
    expect(() => uuidV7(-1, new Uint8Array(10))).toThrow(RangeError);
    expect(() => uuidV7(0, new Uint8Array(9))).toThrow(RangeError);
  });
});
