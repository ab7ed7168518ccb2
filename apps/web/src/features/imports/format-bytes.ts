/**
 * The size of a file for people, in multiples of 1000: "812 bytes", "1.4 MB". Rounded half away from zero to one place.
 *
 * @param bytes  whole number, at least 0
 * @source IEC 80000-13: kilo and mega are powers of ten
 */
export function formatBytes(bytes: number): string {
  if (bytes < 1000) return `${bytes} bytes`;
  const [divisor, unit] = bytes < 999_950 ? [1000, "kB"] : [1_000_000, "MB"];
  return `${(Math.round((bytes / divisor) * 10) / 10).toFixed(1)} ${unit}`;
}
