import { createHash } from "node:crypto";
import { fromHex, toHex } from "@sealbook/evidence/bytes";
import { checkConsistencyProof, type TreeHead } from "@sealbook/evidence/check-consistency-proof";
import { checkInclusionProof } from "@sealbook/evidence/check-inclusion-proof";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import { makeConsistencyProof, makeInclusionProof } from "@sealbook/evidence/make-proof";
import { merkleTreeHash } from "@sealbook/evidence/merkle-tree-hash";
import { consistencyRanges, inclusionRanges, subtreesOf } from "@sealbook/evidence/proof-ranges";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import vectors from "./rfc6962-vectors.json" with { type: "json" };

const leaves = vectors.leaves.map((leaf) => leafHash(fromHex(leaf)));
const roots = vectors.roots.map(fromHex);
const hashOf = (place: number): Uint8Array => fromHex(vectors.hashes[place] ?? "");

type Vector = readonly [number, number, readonly number[]];
const inclusionVectors = vectors.inclusion as unknown as readonly Vector[];
const consistencyVectors = vectors.consistency as unknown as readonly Vector[];

const rootOf = (size: number): Uint8Array => roots[size] as Uint8Array;
const leafAt = (index: number): Uint8Array => leaves[index] as Uint8Array;

describe("the reference tree of RFC 6962", () => {
  it("has the published leaf hashes and roots", () => {
    expect(leaves.map(toHex)).toEqual(vectors.leafHashes);
    expect(vectors.roots.map((_, size) => toHex(merkleTreeHash(leaves.slice(0, size))))).toEqual(
      vectors.roots,
    );
  });

  it("has all 36 inclusion proofs, each made and accepted", () => {
    expect(inclusionVectors).toHaveLength(36);
    for (const [index, size, places] of inclusionVectors) {
      const proof = places.map(hashOf);
      expect(makeInclusionProof(leaves.slice(0, size), index).map(toHex)).toEqual(proof.map(toHex));
      const claim = { leafHash: leafAt(index), index, size, proof, root: rootOf(size) };
      expect(checkInclusionProof(claim), `leaf ${index} of ${size}`).toEqual({ kind: "accepted" });
    }
  });

  it("has all 36 consistency proofs, each made and accepted", () => {
    expect(consistencyVectors).toHaveLength(36);
    for (const [older, newer, places] of consistencyVectors) {
      const proof = places.map(hashOf);
      expect(makeConsistencyProof(leaves.slice(0, newer), older).map(toHex)).toEqual(proof.map(toHex));
      expect(consistency(older, newer, proof), `${older} to ${newer}`).toEqual({ kind: "accepted" });
    }
  });

  it("has proofs of the lengths that RFC 6962 section 2.1.3 shows for seven leaves", () => {
    const seven = leaves.slice(0, 7);
    // PATH(0, D[7]) = [b, h, l], PATH(3, D[7]) = [c, g, l], PATH(4, D[7]) = [f, j, k], PATH(6, D[7]) = [i, k].
    expect([0, 3, 4, 6].map((index) => makeInclusionProof(seven, index).length)).toEqual([3, 3, 3, 2]);
    // PROOF(3, D[7]) = [c, d, g, l], PROOF(4, D[7]) = [l], PROOF(6, D[7]) = [i, j, k].
    expect([3, 4, 6].map((older) => makeConsistencyProof(seven, older).length)).toEqual([4, 1, 3]);
  });

  it("has the roots of single-byte leaves", () => {
    for (const [size, root] of Object.entries(vectors.singleBytes)) {
      const bytes = Array.from({ length: Number(size) }, (_, byte) => leafHash(Uint8Array.of(byte)));
      expect(toHex(merkleTreeHash(bytes)), size).toBe(root);
    }
  });
});

function consistency(older: number, newer: number, proof: readonly Uint8Array[]) {
  return checkConsistencyProof(head(older), head(newer), proof);
}

function head(size: number): TreeHead {
  return { size, root: rootOf(size) };
}

/** The same bytes with one bit turned over. */
function flipped(bytes: Uint8Array, bit: number): Uint8Array {
  const copy = bytes.slice();
  copy[bit >> 3] = (copy[bit >> 3] ?? 0) ^ (1 << (bit & 7));
  return copy;
}

/** A proof with its hash at a place changed. */
function withHash(proof: readonly Uint8Array[], place: number, hash: Uint8Array): Uint8Array[] {
  return proof.map((one, at) => (at === place ? hash : one));
}

/** Pairs of neighbouring places in a proof whose hashes differ. */
function swaps(proof: readonly Uint8Array[]): Uint8Array[][] {
  return proof
    .slice(1)
    .map((next, at) => withHash(withHash(proof, at, next), at + 1, proof[at] as Uint8Array));
}

const zeroHash = new Uint8Array(32);

describe("a hostile inclusion proof is refused by name", () => {
  const claims = inclusionVectors.map(([index, size, places]) => ({
    leafHash: leafAt(index),
    index,
    size,
    proof: places.map(hashOf),
    root: rootOf(size),
  }));
  const refusal = (claim: (typeof claims)[number]) => {
    const checked = checkInclusionProof(claim);
    return checked.kind === "refused" ? checked.refusal : "accepted";
  };

  it("any bit of leaf, proof or root flipped", () => {
    let flips = 0;
    for (const claim of claims) {
      for (let bit = 0; bit < 256; bit++) {
        expect(refusal({ ...claim, leafHash: flipped(claim.leafHash, bit) })).toBe("root-differs");
        expect(refusal({ ...claim, root: flipped(claim.root, bit) })).toBe("root-differs");
        flips += 2;
        claim.proof.forEach((hash, place) => {
          expect(refusal({ ...claim, proof: withHash(claim.proof, place, flipped(hash, bit)) })).toBe(
            "root-differs",
          );
          flips += 1;
        });
      }
    }
    // 36 claims of a leaf and a root, and the 76 hashes of their proofs, 256 bits each.
    const hashes = inclusionVectors.reduce((sum, [, , places]) => sum + places.length, 0);
    expect(flips).toBe((2 * 36 + hashes) * 256);
  });

  it("a hash missing or extra, at either end, and hashes swapped", () => {
    for (const claim of claims) {
      expect(refusal({ ...claim, proof: [...claim.proof, zeroHash] })).toBe("proof-length");
      expect(refusal({ ...claim, proof: [claim.root, ...claim.proof] })).toBe("proof-length");
      if (claim.proof.length > 0) {
        expect(refusal({ ...claim, proof: claim.proof.slice(1) })).toBe("proof-length");
        expect(refusal({ ...claim, proof: claim.proof.slice(0, -1) })).toBe("proof-length");
      }
      for (const proof of swaps(claim.proof)) expect(refusal({ ...claim, proof })).toBe("root-differs");
    }
  });

  it("another index of the same tree", () => {
    for (const claim of claims) {
      for (let index = 0; index < claim.size; index++) {
        if (index !== claim.index)
          expect(["proof-length", "root-differs"]).toContain(refusal({ ...claim, index }));
      }
      for (const index of [claim.size, claim.size + 1, -1, 0.5, Number.NaN, 2 ** 53]) {
        expect(refusal({ ...claim, index })).toBe("leaf-outside-tree");
      }
    }
  });

  it("sizes changed, negative, broken, and 0", () => {
    for (const claim of claims) {
      expect(refusal({ ...claim, size: 0 })).toBe("leaf-outside-tree");
      for (const size of [-1, 1.5, Number.NaN, 2 ** 53])
        expect(refusal({ ...claim, size })).toBe("not-a-tree-size");
      for (const size of [claim.size * 2, claim.size + 8]) {
        expect(refusal({ ...claim, size, root: rootOf(claim.size) })).toBe("proof-length");
      }
    }
    // A tree of six claimed as one of five or seven, where the length of the proof happens to fit.
    const claim = {
      leafHash: leafAt(0),
      index: 0,
      size: 6,
      proof: makeInclusionProof(leaves.slice(0, 6), 0),
    };
    expect(refusal({ ...claim, size: 5, root: rootOf(5) })).toBe("root-differs");
    expect(refusal({ ...claim, size: 7, root: rootOf(7) })).toBe("root-differs");
  });

  it("hashes of another length, with what was got and wanted", () => {
    const claim = { leafHash: leafAt(1), index: 1, size: 2, proof: [leafAt(0)], root: rootOf(2) };
    expect(checkInclusionProof({ ...claim, proof: [leafAt(0).slice(1)] })).toEqual({
      kind: "refused",
      refusal: "hash-length",
      got: "31 bytes",
      want: "32 bytes",
    });
    expect(refusal({ ...claim, root: new Uint8Array() })).toBe("hash-length");
    expect(refusal({ ...claim, leafHash: new Uint8Array(33) })).toBe("hash-length");
    expect(checkInclusionProof({ ...claim, proof: [] })).toEqual({
      kind: "refused",
      refusal: "proof-length",
      got: "0 hashes",
      want: "1 hashes",
    });
  });
});

describe("a hostile consistency proof is refused by name", () => {
  const refusal = (older: TreeHead, newer: TreeHead, proof: readonly Uint8Array[]) => {
    const checked = checkConsistencyProof(older, newer, proof);
    return checked.kind === "refused" ? checked.refusal : "accepted";
  };
  const claims = consistencyVectors.map(
    ([older, newer, places]) => [head(older), head(newer), places.map(hashOf)] as const,
  );

  it("any bit of roots or proof flipped", () => {
    for (const [older, newer, proof] of claims) {
      for (let bit = 0; bit < 256; bit++) {
        const otherNewer = { ...newer, root: flipped(newer.root, bit) };
        expect(refusal(older, otherNewer, proof)).toBe("newer-root-differs");
        const otherOlder = refusal({ ...older, root: flipped(older.root, bit) }, newer, proof);
        // Where the older tree is one complete subtree its root is the start of the newer one's.
        expect(["older-root-differs", "newer-root-differs"]).toContain(otherOlder);
        proof.forEach((hash, place) => {
          const changed = withHash(proof, place, flipped(hash, bit));
          expect(["older-root-differs", "newer-root-differs"]).toContain(refusal(older, newer, changed));
        });
      }
    }
  });

  it("a hash missing or extra, at either end, and hashes swapped", () => {
    for (const [older, newer, proof] of claims) {
      expect(refusal(older, newer, [...proof, zeroHash])).toBe("proof-length");
      expect(refusal(older, newer, [older.root, ...proof])).toBe("proof-length");
      if (proof.length > 0) {
        expect(refusal(older, newer, proof.slice(1))).toBe("proof-length");
        expect(refusal(older, newer, proof.slice(0, -1))).toBe("proof-length");
      }
      for (const swapped of swaps(proof)) {
        expect(["older-root-differs", "newer-root-differs"]).toContain(refusal(older, newer, swapped));
      }
    }
  });

  it("sizes changed", () => {
    for (const [older, newer, proof] of claims) {
      for (const size of [older.size - 1, older.size + 1, older.size * 2]) {
        if (size < 1) continue;
        const expected =
          size > newer.size
            ? ["older-is-larger"]
            : ["proof-length", "older-root-differs", "newer-root-differs"];
        expect(expected).toContain(refusal({ ...older, size }, newer, proof));
      }
      expect(refusal(older, { ...newer, size: newer.size * 2 }, proof)).toBe("proof-length");
      if (newer.size < 8) {
        expect(["proof-length", "newer-root-differs"]).toContain(refusal(older, head(newer.size + 1), proof));
      }
    }
    expect(refusal(head(8), head(3), [])).toBe("older-is-larger");
    for (const size of [-1, 2.5, Number.NaN, 2 ** 53]) {
      expect(refusal({ size, root: rootOf(1) }, head(8), [])).toBe("not-a-tree-size");
      expect(refusal(head(1), { size, root: rootOf(8) }, [])).toBe("not-a-tree-size");
    }
  });

  it("sizes 0", () => {
    for (let newer = 1; newer <= 8; newer++) {
      expect(refusal(head(0), head(newer), [])).toBe("older-is-empty");
      expect(refusal(head(0), head(newer), [rootOf(newer)])).toBe("older-is-empty");
      expect(refusal(head(newer), head(0), [])).toBe("older-is-larger");
    }
  });

  it("equal sizes: accepted with equal roots and an empty proof, and only so", () => {
    for (let size = 0; size <= 8; size++) {
      expect(refusal(head(size), head(size), [])).toBe("accepted");
      expect(refusal(head(size), { size, root: zeroHash }, [])).toBe("newer-root-differs");
      expect(refusal(head(size), head(size), [rootOf(size)])).toBe("proof-length");
    }
  });

  it("hashes of another length", () => {
    expect(refusal(head(3), head(4), [leafAt(2), leafAt(3), rootOf(2).slice(1)])).toBe("hash-length");
    expect(refusal({ size: 3, root: new Uint8Array() }, head(4), [leafAt(2), leafAt(3), rootOf(2)])).toBe(
      "hash-length",
    );
  });
});

/** The definitions of RFC 6962 section 2.1 word for word, over another SHA-256: slow and plain. */
const slow = {
  sha256: (...parts: Uint8Array[]): Uint8Array => createHash("sha256").update(Buffer.concat(parts)).digest(),
  split(size: number): number {
    return 2 ** Math.ceil(Math.log2(size) - 1);
  },
  root(data: readonly Uint8Array[]): Uint8Array {
    if (data.length === 0) return slow.sha256();
    if (data.length === 1) return slow.sha256(Uint8Array.of(0), data[0] as Uint8Array);
    const k = slow.split(data.length);
    return slow.sha256(Uint8Array.of(1), slow.root(data.slice(0, k)), slow.root(data.slice(k)));
  },
  path(m: number, data: readonly Uint8Array[]): Uint8Array[] {
    if (data.length === 1) return [];
    const k = slow.split(data.length);
    return m < k
      ? [...slow.path(m, data.slice(0, k)), slow.root(data.slice(k))]
      : [...slow.path(m - k, data.slice(k)), slow.root(data.slice(0, k))];
  },
  subproof(m: number, data: readonly Uint8Array[], isWhole: boolean): Uint8Array[] {
    if (m === data.length) return isWhole ? [] : [slow.root(data)];
    const k = slow.split(data.length);
    return m <= k
      ? [...slow.subproof(m, data.slice(0, k), isWhole), slow.root(data.slice(k))]
      : [...slow.subproof(m - k, data.slice(k), false), slow.root(data.slice(0, k))];
  },
};

const trees = fc.array(fc.uint8Array({ maxLength: 8 }), { minLength: 1, maxLength: 70 });

describe("any tree", () => {
  it("has the root and the proofs of the definition, and they are accepted", () => {
    fc.assert(
      fc.property(trees, fc.nat(), fc.nat(), (data, indexSeed, olderSeed) => {
        const size = data.length;
        const hashes = data.map(leafHash);
        const root = merkleTreeHash(hashes);
        expect(toHex(root)).toBe(toHex(slow.root(data)));

        const index = indexSeed % size;
        const proof = makeInclusionProof(hashes, index);
        expect(proof.map(toHex)).toEqual(slow.path(index, data).map(toHex));
        const leaf = hashes[index] as Uint8Array;
        expect(checkInclusionProof({ leafHash: leaf, index, size, proof, root }).kind).toBe("accepted");

        const older = 1 + (olderSeed % size);
        const consistencyProof = makeConsistencyProof(hashes, older);
        expect(consistencyProof.map(toHex)).toEqual(slow.subproof(older, data, true).map(toHex));
        const olderHead = { size: older, root: slow.root(data.slice(0, older)) };
        expect(checkConsistencyProof(olderHead, { size, root }, consistencyProof).kind).toBe("accepted");
      }),
      { numRuns: 300 },
    );
  });

  it("gives no consistency proof for a tree whose old part was rewritten", () => {
    fc.assert(
      fc.property(trees, fc.nat(), fc.nat(), (data, olderSeed, changeSeed) => {
        const older = 1 + (olderSeed % data.length);
        const olderHead = { size: older, root: slow.root(data.slice(0, older)) };
        const changed = changeSeed % older;
        const hashes = data.map((one, at) => leafHash(at === changed ? Uint8Array.of(...one, 7) : one));
        const newer = { size: data.length, root: merkleTreeHash(hashes) };
        const checked = checkConsistencyProof(olderHead, newer, makeConsistencyProof(hashes, older));
        expect(checked.kind).toBe("refused");
      }),
    );
  });

  it("of any size has proofs made of complete subtrees that lie in it", () => {
    const sizes = fc.integer({ min: 1, max: Number.MAX_SAFE_INTEGER });
    fc.assert(
      fc.property(sizes, fc.nat(), fc.nat(), (size, indexSeed, olderSeed) => {
        const ranges = [
          ...inclusionRanges(indexSeed % size, size),
          ...consistencyRanges(1 + (olderSeed % size), size),
        ];
        for (const range of ranges) {
          let start = range.from;
          for (const { level, place } of subtreesOf(range)) {
            expect(place * 2 ** level).toBe(start);
            start += 2 ** level;
          }
          expect(start).toBe(range.to);
          expect(range.to).toBeLessThanOrEqual(size);
        }
      }),
    );
  });
});
