/** The address's query as plain text by name, without the quoting that the router would add. */
export function parseSearch(search: string): Record<string, string> {
  return Object.fromEntries(new URLSearchParams(search));
}

/** The reverse of parseSearch; values that are empty or missing are left out. */
export function stringifySearch(search: Readonly<Record<string, unknown>>): string {
  const query = new URLSearchParams();
  for (const [name, value] of Object.entries(search)) {
    if (value !== undefined && value !== null && value !== "") query.set(name, String(value));
  }
  const text = query.toString();
  return text === "" ? "" : `?${text}`;
}
