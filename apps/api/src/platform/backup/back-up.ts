import { createHash } from "node:crypto";
import { createWriteStream } from "node:fs";
import { mkdir, open, readdir, rename } from "node:fs/promises";
import { join } from "node:path";
import { Transform } from "node:stream";
import { pipeline } from "node:stream/promises";
import { createGzip } from "node:zlib";
import pg from "pg";
import { to as copyTo } from "pg-copy-streams";
import { findHead, findNewestCheckpoint, type Reader } from "../log/store.ts";
import { leftOut, leftOutColumns, type Manifest, manifestName, quoted, schemas } from "./manifest.ts";

/**
 * Copies a database into a folder while others go on writing: every table as of one snapshot. The keys of the service are
 * not in it; they stand beside the database, in the data folder or in settings, and are kept elsewhere.
 *
 * @param databaseUrl as a role that may read everything: the owner
 * @param folder that does not exist yet, or is empty; until the backup is whole it has no backup.json
 * @returns what stands in backup.json
 * @throws Error if the folder holds something
 */
export async function backUp(databaseUrl: string, folder: string): Promise<Manifest> {
  await mkdir(folder, { recursive: true, mode: 0o700 });
  if ((await readdir(folder)).length > 0) throw new Error(`The folder ${folder} is not empty.`);
  const client = new pg.Client({ connectionString: databaseUrl, application_name: "sealbook backup" });
  await client.connect();
  try {
    await client.query("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
    // What decides how a value reads as text.
    for (const setting of [
      "timezone = 'UTC'",
      "datestyle = 'ISO'",
      "intervalstyle = 'iso_8601'",
      "bytea_output = 'hex'",
    ]) {
      await client.query(`SET LOCAL ${setting}`);
    }
    await client.query("SET LOCAL extra_float_digits = 3");
    await client.query("SET LOCAL statement_timeout = 0");
    const reader: Reader = { query: async (sql, values) => (await client.query(sql, values)).rows };
    const [clock] = await reader.query<{ now: Date }>("SELECT clock_timestamp() AS now");
    const head = await findHead(reader);
    const checkpoint = await findNewestCheckpoint(reader);
    const migrations = await reader.query<{ name: string; checksum: string }>(
      "SELECT migration_name AS name, checksum FROM _prisma_migrations WHERE finished_at IS NOT NULL ORDER BY migration_name",
    );
    const sequences = await findSequences(reader);
    const tables: Manifest["tables"] = [];
    for (const table of await findTables(reader)) {
      const file = `${table.schema}.${table.name}.copy.gz`;
      tables.push({ ...table, file, ...(await copyOut(client, table, join(folder, file))) });
    }
    await client.query("COMMIT");
    const manifest: Manifest = {
      format: 1,
      takenAt: (clock?.now ?? new Date(0)).toISOString(),
      migrations,
      log: {
        origin: `sealbook/${head.logId}`,
        size: head.size,
        root: Buffer.from(head.root).toString("hex"),
        head: checkpoint?.note ?? null,
      },
      tables,
      sequences,
    };
    // Last, and whole when it has its name: a folder without it is no backup.
    const draft = join(folder, `${manifestName}.draft`);
    const written = await open(draft, "wx", 0o600);
    await written.writeFile(`${JSON.stringify(manifest, null, 2)}\n`);
    await written.sync();
    await written.close();
    await rename(draft, join(folder, manifestName));
    return manifest;
  } finally {
    await client.end();
  }
}

async function findTables(reader: Reader): Promise<{ schema: string; name: string; columns: string[] }[]> {
  return await reader.query(
    `SELECT n.nspname AS schema, c.relname AS name,
       (SELECT array_agg(attname::text ORDER BY attnum) FROM pg_attribute
        WHERE attrelid = c.oid AND attnum > 0 AND NOT attisdropped AND attgenerated = ''
          AND n.nspname || '.' || c.relname || '.' || attname <> ALL($3)) AS columns
     FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
     WHERE c.relkind = 'r' AND n.nspname = ANY($1) AND n.nspname || '.' || c.relname <> ALL($2)
     ORDER BY 1, 2`,
    [schemas, leftOut, leftOutColumns],
  );
}

async function findSequences(reader: Reader): Promise<Manifest["sequences"]> {
  const names = await reader.query<{ schema: string; name: string }>(
    "SELECT schemaname AS schema, sequencename AS name FROM pg_sequences WHERE schemaname = ANY($1) ORDER BY 1, 2",
    [schemas],
  );
  const found: Manifest["sequences"] = [];
  for (const { schema, name } of names) {
    const [row] = await reader.query<{ value: string; called: boolean }>(
      `SELECT last_value::text AS value, is_called AS called FROM ${quoted(schema, name)}`,
    );
    if (row !== undefined) found.push({ schema, name, ...row });
  }
  return found;
}

async function copyOut(
  client: pg.Client,
  { schema, name, columns }: { schema: string; name: string; columns: readonly string[] },
  path: string,
): Promise<{ rows: number; sha256: string }> {
  const hash = createHash("sha256");
  const source = client.query(
    copyTo(`COPY ${quoted(schema, name)} (${columns.map((column) => quoted(column)).join(", ")}) TO STDOUT`),
  );
  const hashing = new Transform({
    transform(chunk: Buffer, _encoding, done) {
      hash.update(chunk);
      done(null, chunk);
    },
  });
  await pipeline(
    source,
    createGzip({ level: 1 }),
    hashing,
    createWriteStream(path, { flags: "wx", mode: 0o600, flush: true }),
  );
  return { rows: Number(source.rowCount), sha256: hash.digest("hex") };
}
