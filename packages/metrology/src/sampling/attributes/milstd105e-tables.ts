import type { InspectionSeverity } from "../sampling-terms.ts";

/**
 * The tables of MIL-STD-105E (10 May 1989) as data, laid out as they are printed so that a person can hold them
 * against the page. ANSI/ASQ Z1.4 prints the same single sampling plans.
 *
 * Provenance: Table I and Tables II-A, II-B and II-C were read as facts out of two independent public
 * copies (R packages AQLSchemes 1.7-2 and Planesmuestra 0.1) that agree in every cell, except 13 tightened cells
 * where one of them follows a wrong arrow; there the printed excerpt of a third public text decides.
 */

/** The inspection levels of Table I. */
export const attributesLevels = ["S-1", "S-2", "S-3", "S-4", "I", "II", "III"] as const;
export type AttributesLevel = (typeof attributesLevels)[number];

/** Columns of Tables II and III: percent nonconforming up to 10, nonconformities per 100 units above. */
export const attributesAqls = [
  0.01, 0.015, 0.025, 0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5, 10, 15, 25, 40, 65, 100,
  150, 250, 400, 650, 1000,
] as const;

/** Table I: the largest lot of each row (null: no upper end) and the code letter of each level, S-1 to III. */
export const attributesCodeLetters: readonly (readonly [lotMax: number | null, letters: string])[] = [
  [8, "A A A A A A B"],
  [15, "A A A A A B C"],
  [25, "A A B B B C D"],
  [50, "A B B C C D E"],
  [90, "B B C C C E F"],
  [150, "B B C D D F G"],
  [280, "B C D E E G H"],
  [500, "B C D E F H J"],
  [1200, "C C E F G J K"],
  [3200, "C D E G H K L"],
  [10000, "C D F G J L M"],
  [35000, "C D F H K M N"],
  [150000, "D E G J L N P"],
  [500000, "D E G J M P Q"],
  [null, "D E H K N Q R"],
];

/**
 * One row of Table II: code letter, sample size, and the cells in the order of {@link attributesAqls}. "5" stands for
 * Ac 5 Re 6; "2/5" for Ac 2 Re 5; an arrow sends the reader down or up to the first plan, whose sample size, Ac and
 * Re are all used.
 */
export type SingleSamplingRow = readonly [letter: string, sampleSize: number, cells: string];

export const singleSamplingTables: Record<InspectionSeverity, readonly SingleSamplingRow[]> = {
  // Table II-A
  normal: [
    ["A", 2, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 7 10 14 21 30"],
    ["B", 3, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 30 44"],
    ["C", 5, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 30 44 ↑"],
    ["D", 8, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 30 44 ↑ ↑"],
    ["E", 13, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 30 44 ↑ ↑ ↑"],
    ["F", 20, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑"],
    ["G", 32, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["H", 50, "↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["J", 80, "↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["K", 125, "↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["L", 200, "↓ ↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["M", 315, "↓ ↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["N", 500, "↓ ↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["P", 800, "↓ 0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["Q", 1250, "0 ↑ ↓ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["R", 2000, "↑ ↑ 1 2 3 5 7 10 14 21 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
  ],
  // Table II-B
  tightened: [
    ["A", 2, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 1 2 3 5 8 12 18 27"],
    ["B", 3, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 27 41"],
    ["C", 5, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 27 41 ↑"],
    ["D", 8, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 27 41 ↑ ↑"],
    ["E", 13, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 27 41 ↑ ↑ ↑"],
    ["F", 20, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑"],
    ["G", 32, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["H", 50, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["J", 80, "↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["K", 125, "↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["L", 200, "↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["M", 315, "↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["N", 500, "↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["P", 800, "↓ ↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["Q", 1250, "↓ 0 ↓ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["R", 2000, "0 ↑ ↓ 1 2 3 5 8 12 18 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["S", 3150, "↑ ↑ 1"],
  ],
  // Table II-C
  reduced: [
    ["A", 2, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↓ ↓ 1 2 3 5 7 10 14 21 30"],
    ["B", 2, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 2/4 3/5 5 7 10 14 21 30"],
    ["C", 2, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 14/17 21/24 ↑"],
    ["D", 3, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 14/17 21/24 ↑ ↑"],
    ["E", 5, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 14/17 21/24 ↑ ↑ ↑"],
    ["F", 8, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑"],
    ["G", 13, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["H", 20, "↓ ↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["J", 32, "↓ ↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["K", 50, "↓ ↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["L", 80, "↓ ↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["M", 125, "↓ ↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["N", 200, "↓ ↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["P", 315, "↓ 0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["Q", 500, "0 ↑ ↓ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
    ["R", 800, "↑ ↑ 0/2 1/3 1/4 2/5 3/6 5/8 7/10 10/13 ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑ ↑"],
  ],
};
