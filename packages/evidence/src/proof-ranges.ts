/** Leaves from `from` up to but not including `to`, whose tree hash is one hash of a proof. */
export interface LeafRange {
  readonly from: number;
  readonly to: number;
}

/**
 * The ranges of leaves whose hashes are the inclusion proof of a leaf, in the order of the proof.
 *
 * @param index of the leaf, from 0
 * @param size  of the tree
 * @throws RangeError if the tree has no such leaf
 * @source RFC 6962 section 2.1.1, PATH(m, D[n])
 */
export function inclusionRanges(index: number, size: number): LeafRange[] {
  if (!isTreeSize(size) || !isTreeSize(index) || index >= size) {
    throw new RangeError(`a tree of ${size} leaves has no leaf ${index}`);
  }
  const path = (from: number, to: number): LeafRange[] => {
    if (to - from === 1) return [];
    const split = from + largestPowerOfTwoBelow(to - from);
    return index < split
      ? [...path(from, split), { from: split, to }]
      : [...path(split, to), { from, to: split }];
  };
  return path(0, size);
}

/**
 * The ranges of leaves whose hashes are the consistency proof between two sizes, in the order of the proof.
 *
 * @param older size, above 0
 * @param newer size, not below the older
 * @throws RangeError if the sizes are not such
 * @source RFC 6962 section 2.1.2, PROOF(m, D[n])
 */
export function consistencyRanges(older: number, newer: number): LeafRange[] {
  if (!isTreeSize(older) || !isTreeSize(newer) || older === 0 || older > newer) {
    throw new RangeError(`there is no consistency proof from size ${older} to size ${newer}`);
  }
  const subproof = (from: number, to: number, isKnown: boolean): LeafRange[] => {
    if (to === older) return isKnown ? [] : [{ from, to }];
    const split = from + largestPowerOfTwoBelow(to - from);
    return older <= split
      ? [...subproof(from, split, isKnown), { from: split, to }]
      : [...subproof(split, to, false), { from, to: split }];
  };
  return subproof(0, newer, true);
}

/**
 * The complete subtrees that a range of a proof is made of, left to right.
 *
 * @param range that begins at a multiple of its largest subtree, as those of a proof do
 * @returns each subtree's level (2 to that power leaves) and its place among those of its level
 */
export function subtreesOf({ from, to }: LeafRange): { level: number; place: number }[] {
  const subtrees: { level: number; place: number }[] = [];
  for (let start = from; start < to; ) {
    let level = 0;
    while (start + 2 ** (level + 1) <= to) level += 1;
    if (start % 2 ** level !== 0) throw new RangeError(`leaves ${from} to ${to} are no range of a proof`);
    subtrees.push({ level, place: start / 2 ** level });
    start += 2 ** level;
  }
  return subtrees;
}

/** Whether a number can be the size of a tree: whole, not negative, exactly representable. */
export function isTreeSize(size: number): boolean {
  return Number.isSafeInteger(size) && size >= 0;
}

function largestPowerOfTwoBelow(size: number): number {
  let power = 1;
  while (power * 2 < size) power *= 2;
  return power;
}
