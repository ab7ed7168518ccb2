import { utf8 } from "@sealbook/evidence/bytes";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { merkleTreeHash } from "@sealbook/evidence/merkle-tree-hash";
import { rangesBeside, rootFromMany } from "@sealbook/evidence/proof-of-many";
import { inclusionRanges } from "@sealbook/evidence/proof-ranges";
import fc from "fast-check";
import { expect, test } from "vitest";

const leavesOf = (size: number) =>
  Array.from({ length: size }, (_, index) => leafHash(utf8(`leaf ${index}`)));

/** A size and some of its leaves. */
const chosen = fc.integer({ min: 1, max: 70 }).chain((size) =>
  fc.record({
    size: fc.constant(size),
    indexes: fc
      .uniqueArray(fc.integer({ min: 0, max: size - 1 }), { minLength: 1 })
      .map((indexes) => indexes.sort((a, b) => a - b)),
  }),
);

test("leaves and their proof give the root of the whole tree", () => {
  fc.assert(
    fc.property(chosen, ({ size, indexes }) => {
      const all = leavesOf(size);
      const proof = rangesBeside(indexes, size).map(({ from, to }) => merkleTreeHash(all.slice(from, to)));
      const leaves = indexes.map((index) => ({ index, hash: all[index] as Uint8Array }));
      expect(rootFromMany(leaves, size, proof)).toEqual({ kind: "root", root: merkleTreeHash(all) });
    }),
  );
});

test("one flipped bit in a leaf or in the proof gives another root", () => {
  fc.assert(
    fc.property(chosen, fc.nat(), fc.nat(255), ({ size, indexes }, which, bit) => {
      const all = leavesOf(size);
      const proof = rangesBeside(indexes, size).map(({ from, to }) => merkleTreeHash(all.slice(from, to)));
      const leaves = indexes.map((index) => ({ index, hash: all[index] as Uint8Array }));
      const hashes = [...leaves.map(({ hash }) => hash), ...proof];
      const place = which % hashes.length;
      const flipped = Uint8Array.from(hashes[place] as Uint8Array);
      flipped[bit >> 3] = (flipped[bit >> 3] ?? 0) ^ (1 << (bit & 7));
      hashes[place] = flipped;
      const result = rootFromMany(
        leaves.map(({ index }, at) => ({ index, hash: hashes[at] as Uint8Array })),
        size,
        hashes.slice(leaves.length),
      );
      expect(result).not.toEqual({ kind: "root", root: merkleTreeHash(all) });
    }),
  );
});

test("the proof of a single leaf holds the hashes of its inclusion proof, from left to right (RFC 6962, 2.1.1)", () => {
  fc.assert(
    fc.property(fc.integer({ min: 1, max: 70 }), fc.nat(), (size, any) => {
      const index = any % size;
      const expected = inclusionRanges(index, size).sort((a, b) => a.from - b.from);
      expect(rangesBeside([index], size)).toEqual(expected);
    }),
  );
});

test("a proof that is too short or too long is refused", () => {
  const [first] = leavesOf(4);
  const leaves = [{ index: 0, hash: first as Uint8Array }];
  expect(rootFromMany(leaves, 4, [])).toMatchObject({ kind: "refused", refusal: "wrong-length" });
});
