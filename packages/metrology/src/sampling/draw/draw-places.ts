import { sha256 } from "@noble/hashes/sha2.js";
import { numberBelow } from "./number-below.ts";

/** One step of a draw, enough to follow it by hand. */
export interface DrawStep {
  /** How many candidates were left, the m of the specification. */
  remaining: number;
  /** Numbers taken from the stream, in decimal; all but the last were discarded. */
  numbers: string[];
  /** Place of the one drawn among those left, from 0. */
  place: number;
}

/**
 * Exchanges candidates so that the first ones are drawn at random, by the numbers of a key.
 *
 * @param candidates in order; changed in place: the drawn ones stand first, in the order drawn
 * @param key 32 bytes
 * @param count how many to draw, whole, 0 <= count <= candidates
 * @returns the steps taken
 * @throws RangeError if there are fewer candidates than to be drawn
 * @source draw-specification.md, rules 6 to 8
 */
export function drawPlaces(candidates: string[], key: Uint8Array, count: number): DrawStep[] {
  if (!Number.isSafeInteger(count) || count < 0 || count > candidates.length) {
    throw new RangeError(`cannot draw ${count} of ${candidates.length}`);
  }
  const next = numbersOf(key);
  const steps: DrawStep[] = [];
  for (let drawn = 0; drawn < count; drawn += 1) {
    const remaining = candidates.length - drawn;
    const { numbers, place } = numberBelow(next, remaining);
    const chosen = candidates[drawn + place] as string;
    candidates[drawn + place] = candidates[drawn] as string;
    candidates[drawn] = chosen;
    steps.push({ remaining, numbers, place });
  }
  return steps;
}

/** The stream of unsigned 64-bit numbers of a key. */
function numbersOf(key: Uint8Array): () => bigint {
  const input = new Uint8Array(key.length + 8);
  input.set(key);
  const counter = new DataView(input.buffer, key.length);
  let index = 0n;
  let block = new DataView(new ArrayBuffer(0));
  let at = 0;
  return () => {
    if (at >= block.byteLength) {
      counter.setBigUint64(0, index);
      index += 1n;
      const digest = sha256(input);
      block = new DataView(digest.buffer, digest.byteOffset, digest.byteLength);
      at = 0;
    }
    const number = block.getBigUint64(at);
    at += 8;
    return number;
  };
}
