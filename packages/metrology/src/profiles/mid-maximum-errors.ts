/** Where the current of a point lies: below the transitional current, or from it to the maximum current. */
export type MidCurrentRange = "from Imin below Itr" | "from Itr to Imax";

/** Bands of temperature, degrees Celsius; the wider ones are those outside the narrower. */
export type MidTemperature = "+5 to +30" | "-10 to +40" | "-25 to +55" | "-40 to +70";

export type MidClass = "A" | "B" | "C";

/**
 * Maximum permissible errors of new active-energy meters in the European Union, in percent of the energy, for
 * single-phase meters and polyphase meters with balanced loads. The rows for a polyphase meter with a single-phase load
 * were not read and are absent.
 *
 * @source Directive 2014/32/EU, Annex V, Table 2, legislation.gov.uk/eudr/2014/32/annex/V (numbers read, row labels from
 *   memory). Directive (EU) 2026/706 amends it; what it changes was not read. Verify against the current text.
 */
export const midMaximumErrors: Record<MidCurrentRange, Record<MidTemperature, Record<MidClass, string>>> = {
  "from Imin below Itr": {
    "+5 to +30": { A: "3.5", B: "2", C: "1" },
    "-10 to +40": { A: "5", B: "2.5", C: "1.3" },
    "-25 to +55": { A: "7", B: "3.5", C: "1.7" },
    "-40 to +70": { A: "9", B: "4", C: "2" },
  },
  "from Itr to Imax": {
    "+5 to +30": { A: "3.5", B: "2", C: "0.7" },
    "-10 to +40": { A: "4.5", B: "2.5", C: "1" },
    "-25 to +55": { A: "7", B: "3.5", C: "1.3" },
    "-40 to +70": { A: "9", B: "4", C: "1.5" },
  },
};
