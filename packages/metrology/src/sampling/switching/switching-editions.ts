/** When acceptance sampling of a series stops until something is done. */
export type DiscontinuationRule =
  | { kind: "lots-not-accepted-on-tightened"; lots: number }
  | { kind: "lots-on-tightened"; lots: number };

/** The switching rules of one edition of one standard. */
export type SwitchingEdition =
  | {
      standing: "read";
      source: string;
      discontinuation: DiscontinuationRule;
      /** Whether Table VIII must be met before reduced inspection, or may be dropped by agreement. */
      limitNumbers: "required" | "may-be-dropped";
    }
  | {
      /** The text could not be read: this product switches nothing by itself, a person directs with the text at hand. */
      standing: "not-read";
      source: string;
      missing: string;
    };

/**
 * Editions that a rule profile may name. Each stands on its own text; none borrows a rule from another.
 */
export const switchingEditions = {
  "MIL-STD-105D": {
    standing: "read",
    source: "MIL-STD-105D (29 April 1963), 4.7 and 4.8: ten lots in a row on tightened inspection end it",
    discontinuation: { kind: "lots-on-tightened", lots: 10 },
    limitNumbers: "required",
  },
  "MIL-STD-105E": {
    standing: "read",
    source: "MIL-STD-105E (10 May 1989), 4.7 and 4.8",
    discontinuation: { kind: "lots-not-accepted-on-tightened", lots: 5 },
    limitNumbers: "required",
  },
  "ANSI/ASQ Z1.4-2003": {
    standing: "read",
    source: "ANSI/ASQ Z1.4-2003, 8.3 to 8.5; 8.5 lets the limit numbers be dropped by agreement",
    discontinuation: { kind: "lots-not-accepted-on-tightened", lots: 5 },
    limitNumbers: "may-be-dropped",
  },
  "ANSI/ASQ Z1.9": {
    standing: "not-read",
    source: "ANSI/ASQ Z1.9-1993 and 2003",
    missing: "the switching procedures of its general section, and the limits of reduced inspection",
  },
  "MIL-STD-414": {
    standing: "not-read",
    source: "MIL-STD-414 (11 June 1957)",
    missing: "Tables B-6 and B-7, by which the estimated process average moves a series between severities",
  },
} as const satisfies Record<string, SwitchingEdition>;

export type SwitchingEditionName = keyof typeof switchingEditions;

export const switchingEditionNames = Object.keys(switchingEditions) as [
  SwitchingEditionName,
  ...SwitchingEditionName[],
];
