import { requirePositive } from "../require-positive.ts";
import type { Counts, Seconds } from "../units.ts";

/**
 * Does a disk that moved with the load wires off creep by a rule that names a time for one whole turn?
 *
 * @param revolutions  turns seen, parts of a turn included; >= 0
 * @param time         over how many seconds; > 0
 * @param timePerTurn  the rule's time: a whole turn in this many seconds or less is creep; > 0
 * @returns true when at least one turn was seen and a turn took no longer than the rule's time
 * @throws RangeError if a time is not greater than 0 or the revolutions are negative
 * @source 52 Pa. Code 57.20(a): one turn in five minutes or less, load wires disconnected
 * @example one turn in 4 min 50 s, rule 5 min // true
 */
export function creepsByRotation(revolutions: Counts, time: Seconds, timePerTurn: Seconds): boolean {
  requirePositive("time", time);
  requirePositive("time per turn", timePerTurn);
  if (revolutions.isLessThan("0")) {
    throw new RangeError(`revolutions are not negative, got ${revolutions.toText()}`);
  }
  return !revolutions.isLessThan("1") && !time.dividedBy(revolutions).isGreaterThan(timePerTurn);
}
