import { createHash } from "node:crypto";
import { createReadStream } from "node:fs";
import { cp, mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pipeline } from "node:stream/promises";
import { createGunzip } from "node:zlib";
import pg from "pg";
import { from as copyFrom } from "pg-copy-streams";
import { migrate, migrationsFolder } from "../../../../../scripts/migrate.mjs";
import { migrateJobs } from "../jobs.ts";
import { findHead } from "../log/store.ts";
import { type Manifest, manifestName, manifestSchema, quoted } from "./manifest.ts";

/**
 * Puts a backup into an empty database: the tables as they were made when it was taken, then all rows in one transaction,
 * foreign keys checked anew at its end. It stands only if the log's head is the one that the backup names.
 *
 * @param databaseUrl of a database without tables, as the role that is to own them
 * @returns the backup's own description
 * @throws Error that says in words why it was not restored; nothing is left in the tables then
 */
export async function restore(databaseUrl: string, folder: string): Promise<Manifest> {
  const manifest = await readManifest(folder);
  await requireWhole(folder, manifest);
  const client = new pg.Client({ connectionString: databaseUrl, application_name: "sealbook restore" });
  await client.connect();
  try {
    const { rows } = await client.query<{ tables: number }>(
      "SELECT count(*)::int AS tables FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = 'public' AND c.relkind = 'r'",
    );
    if ((rows[0]?.tables ?? 0) > 0)
      throw new Error("The database holds tables already. A backup goes into an empty one.");
    await makeTables(databaseUrl, manifest);
    await client.query("BEGIN");
    try {
      await fill(client, folder, manifest);
      await client.query("COMMIT");
    } catch (error) {
      await client.query("ROLLBACK").catch(() => undefined);
      throw error;
    }
    return manifest;
  } finally {
    await client.end();
  }
}

async function readManifest(folder: string): Promise<Manifest> {
  let text: string;
  try {
    text = await readFile(join(folder, manifestName), "utf8");
  } catch {
    throw new Error(`${folder} holds no ${manifestName}: it is no backup, or one that was not finished.`);
  }
  const parsed = manifestSchema.safeParse(JSON.parse(text));
  if (!parsed.success) throw new Error(`${manifestName} cannot be read: ${parsed.error.issues[0]?.message}`);
  return parsed.data;
}

/** Every file is there and has the bytes that were written. */
async function requireWhole(folder: string, manifest: Manifest): Promise<void> {
  for (const { file, sha256 } of manifest.tables) {
    const hash = createHash("sha256");
    await pipeline(createReadStream(join(folder, file)), hash);
    if (hash.digest("hex") !== sha256)
      throw new Error(`${file} is not what was written: the backup is damaged.`);
  }
}

/** The tables as the backup's own migrations make them; later ones are applied when the service starts. */
async function makeTables(databaseUrl: string, { migrations }: Manifest): Promise<void> {
  const some = await mkdtemp(join(tmpdir(), "sealbook-migrations-"));
  try {
    for (const { name } of migrations) {
      await cp(join(migrationsFolder, name), join(some, name), { recursive: true }).catch(() => {
        throw new Error(
          `The backup has migration ${name}, which this version does not know. Use the version that made it.`,
        );
      });
    }
    await migrate({ connectionString: databaseUrl, folder: some });
  } finally {
    await rm(some, { recursive: true });
  }
  await migrateJobs(databaseUrl);
}

async function fill(client: pg.Client, folder: string, manifest: Manifest): Promise<void> {
  const names = manifest.tables.map(({ schema, name }) => `${schema}.${name}`);
  // Migrations may put rows into tables that they make; the backup has these rows, too.
  const triggers = await client.query<{ table: string; name: string; enabled: string }>(
    `SELECT t.tgrelid::regclass::text AS "table", t.tgname AS name, t.tgenabled AS enabled
     FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE NOT t.tgisinternal AND t.tgenabled <> 'D' AND n.nspname || '.' || c.relname = ANY($1)`,
    [names],
  );
  const keys = await client.query<{ table: string; name: string; definition: string }>(
    `SELECT o.conrelid::regclass::text AS "table", o.conname AS name, pg_get_constraintdef(o.oid) AS definition
     FROM pg_constraint o JOIN pg_class c ON c.oid = o.conrelid JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE o.contype = 'f' AND n.nspname || '.' || c.relname = ANY($1)`,
    [names],
  );
  for (const { table, name } of keys.rows)
    await client.query(`ALTER TABLE ${table} DROP CONSTRAINT ${quoted(name)}`);
  for (const { table, name } of triggers.rows)
    await client.query(`ALTER TABLE ${table} DISABLE TRIGGER ${quoted(name)}`);
  await client.query("SET LOCAL datestyle = 'ISO'");
  await client.query("SET LOCAL timezone = 'UTC'");
  for (const { schema, name, columns, file, rows } of manifest.tables) {
    await client.query(`DELETE FROM ${quoted(schema, name)}`);
    const target = client.query(
      copyFrom(
        `COPY ${quoted(schema, name)} (${columns.map((column) => quoted(column)).join(", ")}) FROM STDIN`,
      ),
    );
    await pipeline(createReadStream(join(folder, file)), createGunzip(), target);
    if (target.rowCount !== rows)
      throw new Error(`${file} gave ${target.rowCount} rows, the backup says ${rows}.`);
  }
  for (const { schema, name, value, called } of manifest.sequences) {
    await client.query("SELECT setval($1::regclass, $2, $3)", [quoted(schema, name), value, called]);
  }
  for (const { table, name, definition } of keys.rows) {
    await client.query(`ALTER TABLE ${table} ADD CONSTRAINT ${quoted(name)} ${definition}`);
  }
  for (const { table, name, enabled } of triggers.rows) {
    const how = enabled === "A" ? "ENABLE ALWAYS" : enabled === "R" ? "ENABLE REPLICA" : "ENABLE";
    await client.query(`ALTER TABLE ${table} ${how} TRIGGER ${quoted(name)}`);
  }
  const head = await findHead({ query: async (sql, values) => (await client.query(sql, values)).rows });
  if (head.size !== manifest.log.size || Buffer.from(head.root).toString("hex") !== manifest.log.root) {
    throw new Error("The log's head is not the one that the backup names.");
  }
}
