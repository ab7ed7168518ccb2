import type { Circuits } from "../accuracy/test-terms.ts";
import { type Factor, factor } from "../units.ts";
import type { ElementArrangement } from "./ansi-forms.ts";
import { findForm } from "./find-form.ts";

export type CircuitFactor =
  | { kind: "known"; factor: Factor; source: string }
  /** A person is asked; nothing is guessed. */
  | { kind: "unknown"; reason: string };

type FactorsByCircuits = Partial<Record<Circuits, string>>;

/** An element alone sees the standard's energy once, whichever letter its phase has. */
const oneElementAlone: FactorsByCircuits = { "element-a": "1", "element-b": "1", "element-c": "1" };

const factorsByArrangement: Record<ElementArrangement, FactorsByCircuits> = {
  "one-element": { series: "1", "element-a": "1" },
  "one-element-three-wire": { series: "1", "element-a": "1", "one-coil": "0.5" },
  "two-element": { series: "2", ...oneElementAlone },
  "two-element-four-wire-delta": { series: "2", ...oneElementAlone, "one-coil": "0.5" },
  // In series the outer coils see the energy once each and the common coil twice: 1 + 1 + 2.
  "two-and-a-half-element-wye": { series: "4", "common-coil": "2", "element-a": "1", "element-c": "1" },
  "three-element": { series: "3", ...oneElementAlone },
};

/**
 * How often a meter of this form sees the standard's energy when these circuits are driven: the factor m of
 * R = 100 n K / (m W). It is not the electrical count of elements of the nameplate relation.
 *
 * @param form      ANSI designation, such as "9S"
 * @param circuits  which of the meter's circuits the load drives
 * @returns the factor with its source, or why it is unknown
 * @source common practice, no source
 * @example circuitFactor("6S", "series") // 4
 * @example circuitFactor("2S", "one-coil") // 0.5
 */
export function circuitFactor(form: string, circuits: Circuits): CircuitFactor {
  const row = findForm(form);
  if (row === null) {
    return { kind: "unknown", reason: `Form ${form} is not in the table of forms.` };
  }
  if (row.arrangement === null) {
    return {
      kind: "unknown",
      reason: `How the circuits of form ${row.form} are arranged is not known for sure.`,
    };
  }
  const known = factorsByArrangement[row.arrangement][circuits];
  if (known === undefined) {
    return { kind: "unknown", reason: `Form ${row.form} has no known factor for ${circuitWords[circuits]}.` };
  }
  return { kind: "known", factor: factor(known), source: "common practice, no source" };
}

const circuitWords: Record<Circuits, string> = {
  series: "all circuits in series",
  "element-a": "element A alone",
  "element-b": "element B alone",
  "element-c": "element C alone",
  "common-coil": "the common coil alone",
  "one-coil": "one coil alone",
};
