import { randomBytes } from "node:crypto";
import { chmodSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { ensureAppRole } from "@sealbook/api/platform/database";
import { migrateJobs } from "@sealbook/api/platform/jobs";
import pg from "pg";
import type { TestProject } from "vitest/node";
import { type EmbeddedDatabase, ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";

declare module "vitest" {
  export interface ProvidedContext {
    /** Address of the throwaway server's database "postgres", as superuser. */
    adminUrl: string;
    /** A migrated database without rows, from which freshDatabase() copies. */
    templateDatabase: string;
    /** Password of the server's own role, the same in every database of the throwaway server. */
    appRolePassword: string;
  }
}

const templateDatabase = "sealbook_template";
const folderPrefix = "sealbook-test-";

interface TestServer {
  readonly server: EmbeddedDatabase;
  readonly folder: string;
  readonly appRolePassword: string;
}

interface SharedServer {
  readonly started: Promise<TestServer>;
  users: number;
}

/** Each project of vitest runs this file by itself in the same process; they share one server. */
const shared = globalThis as { sealbookTestServer?: SharedServer };

/** Starts a throwaway PostgreSQL for the tests that need one and provides its address. */
export default async function setUp(project: TestProject): Promise<() => Promise<void>> {
  shared.sealbookTestServer ??= { started: start(), users: 0 };
  const mine = shared.sealbookTestServer;
  mine.users += 1;
  const { server, folder, appRolePassword } = await mine.started;
  project.provide("adminUrl", server.adminUrl);
  project.provide("templateDatabase", templateDatabase);
  project.provide("appRolePassword", appRolePassword);
  return async () => {
    mine.users -= 1;
    if (mine.users > 0) return;
    delete shared.sealbookTestServer;
    await server.stop();
    rmSync(folder, { recursive: true, force: true });
  };
}

async function start(): Promise<TestServer> {
  removeWhatKilledRunsLeft();
  const folder = mkdtempSync(join(tmpdir(), `${folderPrefix}${process.pid}-`));
  // For root the server runs as an account that has to pass through here; the password file stays closed.
  chmodSync(folder, 0o711);
  // An interrupted run ends without the clean-up above, but not without this.
  process.once("exit", () => removeServer(folder));
  for (const signal of ["SIGTERM", "SIGHUP"] as const) process.once(signal, () => process.exit(1));

  const server = await ensureDatabase({
    dataFolder: join(folder, "data"),
    database: "postgres",
    durable: process.env.SEALBOOK_TEST_FSYNC === "on",
    settings: { max_connections: "200" },
  });
  const templateUrl = await makeTemplate(server.adminUrl);
  await migrate({ connectionString: templateUrl });
  await migrateJobs(templateUrl);
  // Once for all databases: the role belongs to the server, and test files that changed it at once would clash.
  const appRolePassword = randomBytes(24).toString("hex");
  await ensureAppRole(templateUrl, appRolePassword);
  return { server, folder, appRolePassword };
}

async function makeTemplate(adminUrl: string): Promise<string> {
  const client = new pg.Client({ connectionString: adminUrl });
  await client.connect();
  await client.query(`CREATE DATABASE ${client.escapeIdentifier(templateDatabase)}`);
  await client.end();
  const url = new URL(adminUrl);
  url.pathname = `/${templateDatabase}`;
  return url.href;
}

/** A run that was killed leaves its server and folder behind; the number of the killed process is in the name. */
function removeWhatKilledRunsLeft(): void {
  for (const name of readdirSync(tmpdir())) {
    if (!name.startsWith(folderPrefix)) continue;
    const pid = Number(name.slice(folderPrefix.length).split("-")[0]);
    if (Number.isInteger(pid) && pid > 0 && !isAlive(pid)) removeServer(join(tmpdir(), name));
  }
}

function removeServer(folder: string): void {
  try {
    const pidFile = join(folder, "data", "postgresql", "cluster", "postmaster.pid");
    process.kill(Number(readFileSync(pidFile, "utf8").split("\n")[0]), "SIGQUIT");
  } catch {
    // It has stopped already, or belongs to another account.
  }
  try {
    rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
  } catch {
    // The next run tries again.
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === "EPERM";
  }
}
