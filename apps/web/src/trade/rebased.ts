/**
 * One's own changes of a record put on top of a newer version of it: a field that one has not touched takes the
 * newer value, one that one has changed keeps one's own.
 *
 * @param opened  the record when it was opened
 * @param mine    the same with one's changes
 * @param newer   what somebody else has saved since
 */
export function rebased<Fields extends object>(opened: Fields, mine: Fields, newer: Fields): Fields {
  const merged = { ...newer };
  for (const key of Object.keys(mine) as (keyof Fields)[]) {
    if (JSON.stringify(mine[key]) !== JSON.stringify(opened[key])) merged[key] = mine[key];
  }
  return merged;
}
