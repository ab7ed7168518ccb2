import { cpSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { writeEntry } from "@sealbook/api/platform/ledger";
import { inTransaction, newId } from "@sealbook/api/platform/transaction";
import { importMappingBodySchema } from "@sealbook/contract/imports";
import pg from "pg";
import { expect, inject, it } from "vitest";
import { migrate } from "../../scripts/migrate.mjs";
import { benchMapping } from "../support/bench-file.ts";

const migrations = fileURLToPath(new URL("../../prisma/migrations", import.meta.url));
const underTest = "20261125110000_shipment_lists";

it("a mapping saved before there were makers' lists is one for tests afterwards, and still names its entry", async () => {
  const server = new pg.Client({ connectionString: inject("adminUrl") });
  await server.connect();
  const name = `test_migration_${process.pid}`;
  const before = mkdtempSync(join(tmpdir(), "migrations-"));
  const url = new URL(inject("adminUrl"));
  url.pathname = `/${name}`;
  const pool = new pg.Pool({ connectionString: url.href, max: 2 });
  pool.on("error", () => undefined);
  try {
    await server.query(`CREATE DATABASE ${name}`);
    for (const migration of readdirSync(migrations).filter((folder) => folder < underTest)) {
      cpSync(join(migrations, migration), join(before, migration), { recursive: true });
    }
    await migrate({ connectionString: url.href, folder: before });
    const id = newId();
    const { kind: _, ...body } = benchMapping;
    const entryId = await inTransaction(pool, null, async (tx) => {
      const entry = await writeEntry(tx, {
        action: "importMapping.save",
        subjectType: "importMapping",
        subjectId: id,
        payload: { name: "Bench 3" },
      });
      await tx.query("INSERT INTO import_mapping (id, name, body, entry_id) VALUES ($1, 'Bench 3', $2, $3)", [
        id,
        JSON.stringify(body),
        entry,
      ]);
      return entry;
    });

    expect(await migrate({ connectionString: url.href })).toContain(underTest);
    const { rows } = await pool.query("SELECT body, entry_id, version FROM import_mapping WHERE id = $1", [
      id,
    ]);
    expect(rows).toMatchObject([{ entry_id: entryId, version: 1 }]);
    expect(importMappingBodySchema.parse(JSON.parse(rows[0].body))).toEqual(benchMapping);
    // The guard stands again: a change without an entry of its own is refused.
    await expect(pool.query("UPDATE import_mapping SET name = 'Other'")).rejects.toThrow(
      "needs a ledger entry of its own",
    );
  } finally {
    await pool.end();
    await server.query(`DROP DATABASE IF EXISTS ${name} WITH (FORCE)`);
    await server.end();
    rmSync(before, { recursive: true });
  }
});
