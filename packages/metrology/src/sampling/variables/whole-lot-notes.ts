/**
 * What to say when a variables plan asks for the whole lot or more.
 *
 * @param tableSampleSize sample size of the plan
 * @param lotSize units in the lot
 * @returns the note, or none
 */
export function wholeLotNotes(tableSampleSize: number, lotSize: number): string[] {
  return tableSampleSize >= lotSize
    ? [
        `All inspected: the plan asks for ${tableSampleSize} units and the lot has ${lotSize}. The percent nonconforming is then counted, not estimated.`,
      ]
    : [];
}
