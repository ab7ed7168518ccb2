import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { ensureAppRole } from "@sealbook/api/platform/database";
import { migrateJobs } from "@sealbook/api/platform/jobs";
import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";

/** A migrated database of its own on a server of its own, which forces its writes to the disk as a shop's does. */
export interface BenchDatabase {
  readonly adminUrl: string;
  readonly appUrl: string;
  /** Stops the server and removes everything. */
  drop(): Promise<void>;
}

export async function benchDatabase(): Promise<BenchDatabase> {
  const folder = mkdtempSync(join(tmpdir(), "sealbook-bench-"));
  const server = await ensureDatabase({ dataFolder: join(folder, "data"), database: "bench" });
  await migrate({ connectionString: server.adminUrl });
  await migrateJobs(server.adminUrl);
  return {
    adminUrl: server.adminUrl,
    appUrl: await ensureAppRole(server.adminUrl, "a password for the bench"),
    async drop() {
      await server.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

/** One figure of a measurement on a line of its own, beside its limit, and whether it keeps it. */
export function printFigure(what: string, figure: string, limit = "", isKept: boolean | null = null): void {
  const verdict = isKept === null ? "" : isKept ? "kept" : "MISSED";
  process.stdout.write(`${what.padEnd(58)} ${figure.padStart(16)}   ${limit.padEnd(22)} ${verdict}\n`);
  if (isKept === false) process.exitCode = 1;
}
