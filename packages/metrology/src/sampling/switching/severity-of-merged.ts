import type { SwitchingState } from "./switching-state.ts";

/** From lenient to strict. */
const strictness: readonly SwitchingState["severity"][] = ["reduced", "normal", "tightened", "discontinued"];

/**
 * State of the one series that several become. The standards are silent; common practice, no source: the strictest
 * parent goes on, with the lots it has counted, so that a merge never softens inspection nor wipes out lots that were not
 * accepted. Among equals the one with more lots not accepted goes on. On a split every part goes on with the whole state
 * of its parent, so nothing needs to be worked out: use the parent's state for each part.
 *
 * @param parents states of the series that are merged, at least one, all of one edition
 * @returns the state of the merged series
 * @throws RangeError if there is no parent, or the parents have different editions
 */
export function severityOfMerged(parents: readonly SwitchingState[]): SwitchingState {
  const [first, ...others] = parents;
  if (first === undefined) throw new RangeError("a merge needs a parent");
  if (others.some(({ edition }) => edition !== first.edition)) {
    throw new RangeError("series under different editions cannot be merged");
  }
  const rank = ({ severity }: SwitchingState) => strictness.indexOf(severity);
  const failures = ({ lots }: SwitchingState) => lots.filter(({ accepted }) => !accepted).length;
  return others.reduce((strictest, parent) => {
    const difference = rank(parent) - rank(strictest);
    return difference > 0 || (difference === 0 && failures(parent) > failures(strictest))
      ? parent
      : strictest;
  }, first);
}
