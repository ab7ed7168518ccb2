import type { InspectionSeverity } from "../sampling-terms.ts";

/**
 * Table III of MIL-STD-105E (10 May 1989) as data: double sampling. Each single plan of Table II has one double plan,
 * with two samples of one size; a letter that has no size here uses the single plan (the standard's asterisk).
 *
 * Provenance: R package AQLSchemes 1.7-2, six of its cells corrected to the series of the table. Normal and tightened
 * agree with a second recollection and, by their operating characteristics, with the single plans; reduced (III-C) was
 * read in this one copy only, and says so in every plan.
 */

/** The size of the first sample, and of the second, by the code letter of the plan reached. */
export const doubleSampleSizes: Record<InspectionSeverity, Readonly<Record<string, number>>> = {
  normal: {
    B: 2,
    C: 3,
    D: 5,
    E: 8,
    F: 13,
    G: 20,
    H: 32,
    J: 50,
    K: 80,
    L: 125,
    M: 200,
    N: 315,
    P: 500,
    Q: 800,
    R: 1250,
  },
  tightened: {
    B: 2,
    C: 3,
    D: 5,
    E: 8,
    F: 13,
    G: 20,
    H: 32,
    J: 50,
    K: 80,
    L: 125,
    M: 200,
    N: 315,
    P: 500,
    Q: 800,
    R: 1250,
    S: 2000,
  },
  reduced: { D: 2, E: 3, F: 5, G: 8, H: 13, J: 20, K: 32, L: 50, M: 80, N: 125, P: 200, Q: 315, R: 500 },
};

/** By the cell of the single plan: Ac and Re after the first sample, Ac and Re after both. */
export const doubleSeries: Record<
  InspectionSeverity,
  Readonly<Record<string, readonly [ac1: number, re1: number, ac2: number, re2: number]>>
> = {
  normal: {
    "1": [0, 2, 1, 2],
    "2": [0, 3, 3, 4],
    "3": [1, 4, 4, 5],
    "5": [2, 5, 6, 7],
    "7": [3, 7, 8, 9],
    "10": [5, 9, 12, 13],
    "14": [7, 11, 18, 19],
    "21": [11, 16, 26, 27],
    "30": [17, 22, 37, 38],
    "44": [25, 31, 56, 57],
  },
  tightened: {
    "1": [0, 2, 1, 2],
    "2": [0, 3, 3, 4],
    "3": [1, 4, 4, 5],
    "5": [2, 5, 6, 7],
    "8": [3, 7, 11, 12],
    "12": [6, 10, 15, 16],
    "18": [9, 14, 23, 24],
    "27": [15, 20, 34, 35],
    "41": [23, 29, 52, 53],
  },
  reduced: {
    "0/2": [0, 2, 0, 2],
    "1/3": [0, 3, 0, 4],
    "1/4": [0, 4, 1, 5],
    "2/5": [0, 4, 3, 6],
    "3/6": [1, 5, 4, 7],
    "5/8": [2, 7, 6, 9],
    "7/10": [3, 8, 8, 12],
    "10/13": [5, 10, 12, 16],
    "14/17": [7, 12, 18, 22],
    "21/24": [11, 17, 26, 30],
  },
};
