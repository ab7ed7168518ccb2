import type pg from "pg";

/** What PostgreSQL must be set to so that what it confirmed survives its crash. */
const needed = {
  fsync: ["on"],
  full_page_writes: ["on"],
  // All but "off" wait for this machine's disk.
  synchronous_commit: ["on", "local", "remote_write", "remote_apply"],
} as const;

/**
 * Settings of a database under which a crash loses what was confirmed, in words.
 *
 * @param connection a connection of the role that serves: synchronous_commit may be set by role and database
 * @returns one sentence a setting; none when all is well
 * @source PostgreSQL 18 documentation, 19.5.1 (fsync, synchronous_commit, full_page_writes)
 */
export async function lossySettings(connection: Pick<pg.ClientBase, "query">): Promise<string[]> {
  const { rows } = await connection.query<{ name: keyof typeof needed; setting: string }>(
    "SELECT name, setting FROM pg_settings WHERE name = ANY($1)",
    [Object.keys(needed)],
  );
  return rows
    .filter(({ name, setting }) => !(needed[name] as readonly string[]).includes(setting))
    .map(({ name, setting }) => `${name} is ${setting}; it must be ${needed[name][0]}.`);
}
