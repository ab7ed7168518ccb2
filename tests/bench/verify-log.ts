import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { sequenceEntries } from "@sealbook/api/platform/log/sequence-entries";
import { inTransaction } from "@sealbook/api/platform/transaction";
import { verify } from "@sealbook/api/verify";
import pg from "pg";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";

/**
 * Seconds to verify a log of 1,000,000 entries, each with a row of its own: every leaf against its entry and rows, the tree
 * against its head, every live row against its hash. The goal is a minute.
 */
const entries = Number(process.argv[2] ?? 1_000_000);
const goalSeconds = 60;
const atOnce = 10_000;

/** A UUID of version 7 for the nth entry. */
const idOf = (n: string) =>
  `('0190' || lpad(to_hex(${n}), 8, '0') || '7000' || '8000' || lpad(to_hex(${n}), 12, '0'))::uuid`;

const folder = mkdtempSync(join(tmpdir(), "sealbook-bench-"));
const server = await ensureDatabase({ dataFolder: join(folder, "data"), database: "bench" });
try {
  await migrate({ connectionString: server.adminUrl });
  const pool = new pg.Pool({ connectionString: server.adminUrl, max: 1 });
  const filled = await seconds(async () => {
    for (let from = 0; from < entries; from += atOnce) {
      const numbers = `generate_series(${from}, ${Math.min(entries, from + atOnce) - 1}) n`;
      await pool.query(`BEGIN;
        INSERT INTO ledger_entry (id, action, subject_type, subject_id, payload)
          SELECT ${idOf("n")}, 'place.create', 'place', n::text, '{"kind":"store","name":"Shelf ' || n || '"}' FROM ${numbers};
        INSERT INTO place (id, kind, name, entry_id) SELECT ${idOf("n")}, 'store', 'Shelf ' || n, ${idOf("n")} FROM ${numbers};
        COMMIT`);
    }
  });
  const sequenced = await seconds(async () => {
    while ((await inTransaction(pool, null, (tx) => sequenceEntries(tx))) > 0);
  });
  await pool.query("ANALYZE");
  await pool.end();
  let findings = -1;
  const verified = await seconds(async () => {
    findings = (await verify(server.adminUrl)).verified.findings.length;
  });
  console.log(`${entries} entries with a row each: written in ${filled.toFixed(1)} s`);
  console.log(
    `moved into the log in ${sequenced.toFixed(1)} s, ${Math.round(entries / sequenced).toLocaleString("en")} a second`,
  );
  console.log(
    `verified in ${verified.toFixed(1)} s (goal ${goalSeconds}), with ${findings} findings${verified > goalSeconds ? ": OVER THE GOAL" : ""}`,
  );
} finally {
  await server.stop();
  rmSync(folder, { recursive: true, force: true });
}

async function seconds(work: () => Promise<void>): Promise<number> {
  const began = performance.now();
  await work();
  return (performance.now() - began) / 1000;
}
