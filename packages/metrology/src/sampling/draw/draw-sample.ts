import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex, utf8ToBytes } from "@noble/hashes/utils.js";
import { requireWhole } from "../require-whole.ts";
import { type DrawStep, drawPlaces } from "./draw-places.ts";
import type { DrawRefusal } from "./draw-refusal.ts";
import { listHash } from "./list-hash.ts";
import { orderCandidates } from "./order-candidates.ts";

/** Name of the rules in draw-specification.md; other rules would have another name. */
export const drawAlgorithm = "sealbook-draw-1";

export interface DrawRequest {
  /** Identifiers of all units of the lot, each once, in any order. */
  candidates: readonly string[];
  /** Published text, 1 to 1000 bytes in UTF-8, used exactly as written. */
  seed: string;
  /** Sample size, whole, >= 1. */
  n: number;
  /** How many spares to draw after the sample, whole, >= 0. */
  spares?: number;
}

export interface Draw {
  kind: "drawn";
  algorithm: typeof drawAlgorithm;
  /** Number of candidates. */
  candidateCount: number;
  listHash: string;
  /** The key in hexadecimal. */
  key: string;
  /** The sample in the order drawn. */
  sample: string[];
  /** Spares in the order in which they are called up. */
  spares: string[];
  /** Every number consumed, discarded ones included. */
  steps: DrawStep[];
}

/**
 * Draws a sample that anybody can repeat from the list and the seed. Each subset of the size of the sample is equally
 * likely over seeds; the order of the list as handed in has no influence.
 *
 * @param request candidates, seed, sample size and spares
 * @returns the draw, or why it cannot be made
 * @throws RangeError if n or spares is not a whole number in its range
 * @source draw-specification.md (sealbook-draw-1), which an outsider can follow alone
 */
export function drawSample(request: DrawRequest): Draw | DrawRefusal {
  const { candidates, seed, n, spares = 0 } = request;
  requireWhole(n, 1, "the sample size");
  requireWhole(spares, 0, "the number of spares");
  if (
    seed === "" ||
    utf8ToBytes(seed).length > 1000 ||
    seed !== seed.trim() ||
    /[\p{Cc}\p{Cs}]/u.test(seed)
  ) {
    return {
      kind: "refused",
      reason: "seed-not-usable",
      sentence:
        "A seed is a text of 1 to 1000 bytes in UTF-8, without control characters and without white space at either end.",
    };
  }
  const ordered = orderCandidates(candidates);
  if (ordered.kind === "refused") return ordered;
  const list = ordered.candidates;
  if (n + spares > list.length) {
    return {
      kind: "refused",
      reason: "more-than-listed",
      sentence: `${n} and ${spares} spares cannot be drawn from ${list.length} candidates.`,
    };
  }
  const hash = listHash(list);
  const key = sha256(utf8ToBytes(`${drawAlgorithm}\n${hash}\n${seed}\n`));
  const steps = drawPlaces(list, key, n + spares);
  return {
    kind: "drawn",
    algorithm: drawAlgorithm,
    candidateCount: list.length,
    listHash: hash,
    key: bytesToHex(key),
    sample: list.slice(0, n),
    spares: list.slice(n, n + spares),
    steps,
  };
}
