import type { DrawRefusal } from "./draw-refusal.ts";

/** A control character, or half of a character: neither can be hashed as the text that people read. */
const notText = /[\p{Cc}\p{Cs}]/u;
const beyondBasicPlane = /[\ud800-\udfff]/;

/**
 * Checks candidates and sorts them in ascending order of their UTF-8 bytes.
 *
 * @param candidates identifiers, any order; left as they are
 * @returns a sorted copy, or why the list cannot be drawn from
 * @source draw-specification.md, rules 1 and 2
 * @example orderCandidates(["b", "a", "B"]) // { kind: "ordered", candidates: ["B", "a", "b"] }
 */
export function orderCandidates(
  candidates: readonly string[],
): { kind: "ordered"; candidates: string[] } | DrawRefusal {
  if (candidates.length === 0) {
    return { kind: "refused", reason: "empty-list", sentence: "The list has no candidates." };
  }
  let allBasic = true;
  // Some thousand at a time, for speed; the space between keeps half characters of neighbours apart.
  const chunk = 4096;
  for (let place = 0; place < candidates.length; place += chunk) {
    const some = candidates.slice(place, place + chunk);
    const joined = some.join(" ");
    if (notText.test(joined) || some.includes("")) {
      const bad = some.find((candidate) => candidate === "" || notText.test(candidate));
      return {
        kind: "refused",
        reason: "candidate-not-text",
        sentence: `${JSON.stringify(bad)} cannot be a candidate: it is empty, or holds a control character or half a character.`,
      };
    }
    allBasic &&= !beyondBasicPlane.test(joined);
  }
  // Texts of the basic plane sort by UTF-16 units as they do by UTF-8 bytes, and the engine's own order is the fastest.
  const ordered = allBasic ? [...candidates].sort() : [...candidates].sort(compareCodePoints);
  for (let place = 1; place < ordered.length; place += 1) {
    if (ordered[place] === ordered[place - 1]) {
      return {
        kind: "refused",
        reason: "candidate-twice",
        sentence: `${ordered[place]} stands on the list more than once: it would have more than one chance.`,
      };
    }
  }
  return { kind: "ordered", candidates: ordered };
}

/** The order of code points, which is that of UTF-8 bytes. */
function compareCodePoints(a: string, b: string): number {
  const length = Math.min(a.length, b.length);
  for (let place = 0; place < length; place += 1) {
    const unitA = a.charCodeAt(place);
    const unitB = b.charCodeAt(place);
    if (unitA !== unitB) {
      // A surrogate stands for a code point above every single unit.
      const surrogateA = unitA >= 0xd800 && unitA <= 0xdfff;
      const surrogateB = unitB >= 0xd800 && unitB <= 0xdfff;
      if (surrogateA !== surrogateB) return surrogateA ? 1 : -1;
      return unitA - unitB;
    }
  }
  return a.length - b.length;
}
