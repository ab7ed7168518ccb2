/** The time zones that the browser knows, UTC and the present choice among them. */
export function timeZones(present: string): { value: string; label: string }[] {
  const zones = new Set([...Intl.supportedValuesOf("timeZone"), "UTC", ...(present === "" ? [] : [present])]);
  return [...zones].sort().map((value) => ({ value, label: value }));
}
