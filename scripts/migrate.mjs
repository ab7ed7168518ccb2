import { createHash, randomUUID } from "node:crypto";
import { existsSync, readdirSync, readFileSync, realpathSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import pg from "pg";

/** Where the migrations of this version stand. */
export const migrationsFolder = join(
  dirname(dirname(fileURLToPath(import.meta.url))),
  "prisma",
  "migrations",
);

/** The lock that `prisma migrate` takes too, so that the two exclude each other. */
const migrationLock = 72707369;

/** Prisma's own table, column for column: `prisma migrate status` and `deploy` read it. */
const migrationsTable = `
  CREATE TABLE IF NOT EXISTS _prisma_migrations (
    id VARCHAR(36) PRIMARY KEY NOT NULL,
    checksum VARCHAR(64) NOT NULL,
    finished_at TIMESTAMPTZ,
    migration_name VARCHAR(255) NOT NULL,
    logs TEXT,
    rolled_back_at TIMESTAMPTZ,
    started_at TIMESTAMPTZ NOT NULL DEFAULT now(),
    applied_steps_count INTEGER NOT NULL DEFAULT 0
  )`;

/** Brings a database to the newest migration. See migrate.d.mts. */
export async function migrate({
  connectionString,
  client,
  folder = migrationsFolder,
  log = () => undefined,
}) {
  if ((connectionString === undefined) === (client === undefined)) {
    throw new RangeError("migrate needs a connectionString or a client, one of the two");
  }
  if (client !== undefined) return migrateThrough(client, folder, log);
  const own = new pg.Client({ connectionString, application_name: "sealbook migrate" });
  own.on("error", () => undefined);
  await own.connect();
  try {
    return await migrateThrough(own, folder, log);
  } finally {
    await own.end();
  }
}

async function migrateThrough(client, folder, log) {
  const migrations = readMigrations(folder);
  // A role or a server may limit how long statements take and locks are waited for; a migration may take longer.
  await client.query(
    "SET statement_timeout = 0; SET lock_timeout = 0; SET idle_in_transaction_session_timeout = 0",
  );
  await client.query("SELECT pg_advisory_lock($1)", [migrationLock]);
  try {
    await client.query(migrationsTable);
    const { rows } = await client.query(
      `SELECT migration_name AS name, checksum, finished_at AS "finishedAt"
         FROM _prisma_migrations WHERE rolled_back_at IS NULL ORDER BY started_at, migration_name`,
    );
    refuseForeignHistory(rows, migrations);
    const done = new Set(rows.map((row) => row.name));
    const applied = [];
    for (const migration of migrations.filter(({ name }) => !done.has(name))) {
      await apply(client, migration);
      log(`Applied migration ${migration.name}.`);
      applied.push(migration.name);
    }
    return applied;
  } finally {
    await client.query("SELECT pg_advisory_unlock($1)", [migrationLock]).catch(() => undefined);
    await client
      .query("RESET statement_timeout; RESET lock_timeout; RESET idle_in_transaction_session_timeout")
      .catch(() => undefined);
  }
}

function readMigrations(folder) {
  return readdirSync(folder, { withFileTypes: true })
    .filter((entry) => entry.isDirectory() && existsSync(join(folder, entry.name, "migration.sql")))
    .map(({ name }) => {
      const sql = readFileSync(join(folder, name, "migration.sql"), "utf8");
      return { name, sql, checksum: createHash("sha256").update(sql).digest("hex") };
    })
    .sort((one, other) => (one.name < other.name ? -1 : 1));
}

/** Invariant: what is applied is what the files say. Anything else is for a person to look at. */
function refuseForeignHistory(rows, migrations) {
  const known = new Map(migrations.map((migration) => [migration.name, migration]));
  for (const { name, checksum, finishedAt } of rows) {
    const migration = known.get(name);
    if (migration === undefined) {
      throw new Error(
        `The database has migration ${name}, which this version does not know. ` +
          "It was made by a newer version: start that one, or restore a backup from before.",
      );
    }
    if (finishedAt === null) {
      throw new Error(
        `Migration ${name} was begun by another tool and did not finish. ` +
          "Mend the database and mark it with `prisma migrate resolve`.",
      );
    }
    if (checksum !== migration.checksum) {
      throw new Error(
        `Migration ${name} was changed after it was applied ` +
          `(database ${checksum}, file ${migration.checksum}). Restore the file and write a new migration.`,
      );
    }
  }
}

/** The statements and their record stand or fall together. */
async function apply(client, { name, sql, checksum }) {
  await client.query("BEGIN");
  try {
    await client.query(sql);
    // Rows stay what the log says of them, though their table has other columns now.
    const { rows } = await client.query("SELECT to_regproc('bind_changed_tables') IS NOT NULL AS bound");
    if (rows[0].bound) await client.query("SELECT bind_changed_tables($1)", [name]);
    await client.query(
      `INSERT INTO _prisma_migrations (id, checksum, migration_name, started_at, finished_at, applied_steps_count)
       VALUES ($1, $2, $3, now(), clock_timestamp(), 1)`,
      [randomUUID(), checksum, name],
    );
    await client.query("COMMIT");
  } catch (error) {
    await client.query("ROLLBACK").catch(() => undefined);
    throw new Error(
      `Migration ${name} failed and left nothing behind: ${error.message}${where(sql, error)}`,
      {
        cause: error,
      },
    );
  }
}

function where(sql, error) {
  const position = Number(error.position);
  return position > 0 ? ` (line ${sql.slice(0, position).split("\n").length})` : "";
}

if (process.argv[1] && realpathSync(process.argv[1]) === fileURLToPath(import.meta.url)) {
  const connectionString = process.env.DATABASE_URL;
  if (!connectionString) {
    console.error("Set DATABASE_URL to the database to migrate, as its owner.");
    process.exit(2);
  }
  try {
    const applied = await migrate({ connectionString, log: (line) => console.log(line) });
    if (applied.length === 0) console.log("The database is up to date.");
  } catch (error) {
    console.error(error.message);
    process.exit(1);
  }
}
