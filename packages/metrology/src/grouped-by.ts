/**
 * Values gathered by a key, keys and values in the order in which they come.
 *
 * @param values any values
 * @param keyOf key of a value
 * @returns the values of each key, at least one
 * @example groupedBy([1, 2, 3], (n) => n % 2).get(1) // [1, 3]
 */
export function groupedBy<Value, Key>(
  values: Iterable<Value>,
  keyOf: (value: Value) => Key,
): Map<Key, Value[]> {
  const groups = new Map<Key, Value[]>();
  for (const value of values) {
    const key = keyOf(value);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [value]);
    else group.push(value);
  }
  return groups;
}
