/**
 * The tables of MIL-STD-414 (11 June 1957) that this product uses, as data: standard deviation method, variability
 * unknown, Forms 1 and 2, normal and tightened. ANSI/ASQ Z1.9 is another standard.
 *
 * Provenance: Table A-2 from two identical public copies. k of Table B-1 from R package Planesmuestra 0.1, M of
 * Table B-3 from another public copy; all 224 cells agree through the beta estimate within printed rounding,
 * and each gives the design constant of its letter as probability of acceptance at the AQL. Reduced inspection (B-2,
 * B-4), the range method and known variability were not read in print and are not here.
 */

export const milstd414Levels = ["I", "II", "III", "IV", "V"] as const;
export type Milstd414Level = (typeof milstd414Levels)[number];

/** Columns of Tables B-1 and B-3 for normal inspection, in percent nonconforming. */
export const milstd414NormalAqls = [
  0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5, 10, 15,
] as const;

/** The same columns read for tightened inspection: one AQL to the right. There is no tightened 0.04. */
export const milstd414TightenedAqls = [
  0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5, 10, 15,
] as const;

/** Table A-2: the largest lot of each row (null: no upper end) and the code letter of each level, I to V. */
export const milstd414CodeLetters: readonly (readonly [lotMax: number | null, letters: string])[] = [
  [8, "B B B B C"],
  [15, "B B B B D"],
  [25, "B B B C E"],
  [40, "B B B D F"],
  [65, "B B C E G"],
  [110, "B B D F H"],
  [180, "B C E G I"],
  [300, "B D F H J"],
  [500, "C E G I K"],
  [800, "D F H J L"],
  [1300, "E G I K L"],
  [3200, "F H J L M"],
  [8000, "G I L M N"],
  [22000, "H J M N O"],
  [110000, "I K N O P"],
  [550000, "I K O P Q"],
  [null, "I K P Q Q"],
];

/**
 * Tables B-1 and B-3: code letter, sample size, and for each column k and M in percent joined by a slash. A ↓ sends the
 * reader down to the first plan, whose sample size, k and M are all used.
 */
export const milstd414Plans: readonly (readonly [letter: string, sampleSize: number, cells: string])[] = [
  ["B", 3, "↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ ↓ 1.12/7.59 0.958/18.86 0.765/26.94 0.566/33.69 0.341/40.47"],
  ["C", 4, "↓ ↓ ↓ ↓ ↓ ↓ ↓ 1.45/1.53 1.34/5.5 1.17/10.92 1.01/16.45 0.814/22.86 0.617/29.45 0.393/36.9"],
  [
    "D",
    5,
    "↓ ↓ ↓ ↓ ↓ ↓ 1.65/1.33 1.53/3.32 1.4/5.83 1.24/9.8 1.07/14.39 0.874/20.19 0.675/26.56 0.455/33.99",
  ],
  [
    "E",
    7,
    "↓ ↓ ↓ ↓ 2.0/0.422 1.88/1.06 1.75/2.14 1.62/3.55 1.5/5.35 1.33/8.4 1.15/12.2 0.955/17.35 0.755/23.29 0.536/30.5",
  ],
  [
    "F",
    10,
    "↓ ↓ ↓ 2.24/0.349 2.11/0.716 1.98/1.3 1.84/2.17 1.72/3.26 1.58/4.77 1.41/7.29 1.23/10.54 1.03/15.17 0.828/20.74 0.611/27.57",
  ],
  [
    "G",
    15,
    "2.64/0.099 2.53/0.186 2.42/0.312 2.32/0.503 2.2/0.818 2.06/1.31 1.91/2.11 1.79/3.05 1.65/4.31 1.47/6.56 1.3/9.46 1.09/13.71 0.886/18.94 0.664/25.61",
  ],
  [
    "H",
    20,
    "2.69/0.135 2.58/0.228 2.47/0.365 2.36/0.544 2.24/0.846 2.11/1.29 1.96/2.05 1.82/2.95 1.69/4.09 1.51/6.17 1.33/8.92 1.12/12.99 0.917/18.03 0.695/24.53",
  ],
  [
    "I",
    25,
    "2.72/0.155 2.61/0.25 2.5/0.38 2.4/0.551 2.26/0.877 2.14/1.29 1.98/2.0 1.85/2.86 1.72/3.97 1.53/5.97 1.35/8.63 1.14/12.57 0.936/17.51 0.712/23.97",
  ],
  [
    "J",
    30,
    "2.73/0.179 2.61/0.28 2.51/0.413 2.41/0.581 2.28/0.879 2.15/1.29 2.0/1.98 1.86/2.83 1.73/3.91 1.55/5.86 1.36/8.47 1.15/12.36 0.946/17.24 0.723/23.58",
  ],
  [
    "K",
    35,
    "2.77/0.17 2.65/0.264 2.54/0.388 2.45/0.535 2.31/0.847 2.18/1.23 2.03/1.87 1.89/2.68 1.76/3.7 1.57/5.57 1.39/8.1 1.18/11.87 0.969/16.65 0.745/22.91",
  ],
  [
    "L",
    40,
    "2.77/0.179 2.66/0.275 2.55/0.401 2.44/0.566 2.31/0.873 2.18/1.26 2.03/1.88 1.89/2.71 1.76/3.72 1.58/5.58 1.39/8.09 1.18/11.85 0.971/16.61 0.746/22.86",
  ],
  [
    "M",
    50,
    "2.83/0.163 2.71/0.25 2.6/0.363 2.5/0.503 2.35/0.789 2.22/1.17 2.08/1.71 1.93/2.49 1.8/3.45 1.61/5.2 1.42/7.61 1.21/11.23 1.0/15.87 0.774/22.0",
  ],
  [
    "N",
    75,
    "2.9/0.147 2.77/0.228 2.66/0.33 2.55/0.467 2.41/0.72 2.27/1.07 2.12/1.6 1.98/2.29 1.84/3.2 1.65/4.87 1.46/7.15 1.24/10.63 1.03/15.13 0.804/21.11",
  ],
  [
    "O",
    100,
    "2.92/0.145 2.8/0.22 2.69/0.317 2.58/0.447 2.43/0.689 2.29/1.02 2.14/1.53 2.0/2.2 1.86/3.07 1.67/4.69 1.48/6.91 1.26/10.32 1.05/14.75 0.819/20.66",
  ],
  [
    "P",
    150,
    "2.96/0.134 2.84/0.203 2.73/0.293 2.61/0.413 2.47/0.638 2.33/0.949 2.18/1.43 2.03/2.05 1.89/2.89 1.7/4.43 1.51/6.57 1.29/9.88 1.07/14.2 0.841/20.02",
  ],
  [
    "Q",
    200,
    "2.97/0.135 2.85/0.204 2.73/0.294 2.62/0.414 2.47/0.637 2.33/0.945 2.18/1.42 2.04/2.04 1.89/2.87 1.7/4.4 1.51/6.53 1.29/9.81 1.07/14.12 0.845/19.92",
  ],
];
