import { createInterface } from "node:readline/promises";
import pg from "pg";
import { defaultDataFolder, ensureDatabase } from "./embedded-postgres.mjs";

/**
 * Drops the embedded database, so that the next start makes it anew with the demo shop. Asks first, and never
 * touches a database that DATABASE_URL names or that somebody is connected to.
 *
 * @param {string[]} commandArguments "--yes" instead of the question
 * @returns {Promise<number>} exit code
 */
export async function resetDemo(commandArguments) {
  if (process.env.DATABASE_URL) {
    process.stderr.write("DATABASE_URL is set: only the embedded database is reset. Nothing was done.\n");
    return 1;
  }
  if (!commandArguments.includes("--yes") && !(await confirmed())) {
    process.stderr.write("Nothing was done.\n");
    return 1;
  }
  const server = await ensureDatabase({ database: "postgres" });
  const client = new pg.Client({ connectionString: server.adminUrl });
  try {
    await client.connect();
    await client.query("DROP DATABASE IF EXISTS sealbook");
    process.stdout.write("The database is gone. The next npm start loads the demo shop.\n");
    return 0;
  } catch (error) {
    // 55006: object in use.
    if (error.code !== "55006") throw error;
    process.stderr.write("Sealbook is still running: stop it first. Nothing was done.\n");
    return 1;
  } finally {
    await client.end();
    await server.stop();
  }
}

async function confirmed() {
  if (!process.stdin.isTTY) {
    process.stderr.write("Say --yes to confirm: npm run demo:reset -- --yes\n");
    return false;
  }
  const terminal = createInterface({ input: process.stdin, output: process.stderr });
  try {
    const answer = await terminal.question(
      `Every test, meter and ledger entry in ${defaultDataFolder()} will be lost. Type "reset" to go on: `,
    );
    return answer.trim() === "reset";
  } finally {
    terminal.close();
  }
}
