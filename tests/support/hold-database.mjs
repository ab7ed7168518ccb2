// A process that owns an embedded PostgreSQL, for tests which kill it: says its address, stops on SIGTERM.
//   node hold-database.mjs <data folder>

import { ensureDatabase } from "../../scripts/embedded-postgres.mjs";

const server = await ensureDatabase({ dataFolder: process.argv[2] });
process.once("SIGTERM", async () => {
  await server.stop();
  process.exit(0);
});
// The end of the test, however it comes, is the end of this process.
process.stdin.once("end", () => process.exit(1)).resume();
process.stdout.write(`${JSON.stringify({ adminUrl: server.adminUrl, port: server.port })}\n`);
