/** Joins the printed name of an account; two joins that every list of who did what needs. */
export function nameOf(column: string, alias: string): string {
  return `LEFT JOIN account ${alias}a ON ${alias}a.id = ${column} LEFT JOIN personal_value ${alias} ON ${alias}.id = ${alias}a.name_id`;
}
