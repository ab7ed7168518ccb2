import { limitNumber } from "../attributes/limit-number.ts";
import type { CountedLot } from "./switching-state.ts";

/** How the lots before reduced inspection stand against Table VIII. */
export interface LimitNumberOfLots {
  holds: boolean;
  /** How many of the last lots were counted: ten, or more where ten have too few sample units. */
  lotsCounted: number;
  sampleUnits: number;
  nonconforming: number;
  /** Null where even all lots have too few sample units. */
  limit: number | null;
}

/**
 * Compares the nonconforming units of the last ten accepted lots with the limit number. Where ten lots have too few
 * sample units for the AQL, more of the most recent lots in sequence are taken, as the note to the table allows.
 *
 * @param lots accepted lots on normal inspection, oldest first, at least ten
 * @param aql percent nonconforming or nonconformities per 100 units, > 0
 * @returns the comparison
 * @source MIL-STD-105E (10 May 1989), 4.7.3 a and b, Table VIII and its note
 */
export function limitNumberOfLots(lots: readonly CountedLot[], aql: number): LimitNumberOfLots {
  let found: LimitNumberOfLots = {
    holds: false,
    lotsCounted: 0,
    sampleUnits: 0,
    nonconforming: 0,
    limit: null,
  };
  let sampleUnits = 0;
  let nonconforming = 0;
  let lotsCounted = 0;
  for (const lot of [...lots].reverse()) {
    sampleUnits += lot.sampleUnits;
    nonconforming += lot.nonconforming;
    lotsCounted += 1;
    if (lotsCounted < 10) continue;
    const limit = limitNumber(sampleUnits, aql);
    found = {
      holds: limit !== null && nonconforming <= limit,
      lotsCounted,
      sampleUnits,
      nonconforming,
      limit,
    };
    if (limit !== null) break;
  }
  return found;
}
