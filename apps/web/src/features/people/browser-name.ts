const browsers: readonly [RegExp, string][] = [
  [/Edg\//, "Edge"],
  [/Firefox\//, "Firefox"],
  [/Chrom(e|ium)\//, "Chrome or Chromium"],
  [/Safari\//, "Safari"],
];
const systems: readonly [RegExp, string][] = [
  [/iPhone|iPad/, "iOS"],
  [/Android/, "Android"],
  [/Windows/, "Windows"],
  [/Mac OS X/, "macOS"],
  [/Linux/, "Linux"],
];

/**
 * What people call a browser, from what it calls itself.
 *
 * @example browserName("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0") // "Firefox on Linux"
 */
export function browserName(agent: string): string {
  const named = (names: readonly [RegExp, string][]) => names.find(([pattern]) => pattern.test(agent))?.[1];
  const browser = named(browsers) ?? (agent === "" ? "Unknown browser" : agent.slice(0, 40));
  const system = named(systems);
  return system === undefined ? browser : `${browser} on ${system}`;
}
