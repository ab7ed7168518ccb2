import { resolve } from "node:path";
import { databaseOf, readOptions } from "./command-line.ts";
import { readConfig } from "./config.ts";
import { backUp } from "./platform/backup/back-up.ts";

const usage = `Usage: backup --out FOLDER

Copies the whole database into a new folder, as of one moment, while the service goes on. The database is the one that
DATABASE_URL names, else the embedded one.

The keys are not in it, so that nobody who finds a backup can sign in the log's name. They stand in the data folder:
log-key-seed, log-key-seed-retiring where there is one, app-role-password, and log-heads with the last heads that left.
Keep a copy of log-key-seed and log-heads at another place than the backups.

Exit status: 0 when the backup is whole, 1 when it is not, 2 when the command is wrong.
`;

const folder = readOptions(usage, ["out"], ({ out }) => {
  if (out === undefined) throw new Error("Say with --out where the backup goes.");
  return resolve(out);
});
const config = readConfig();
const database = await databaseOf(config);
try {
  const began = Date.now();
  const { log, tables } = await backUp(database.url, folder);
  const rows = tables.reduce((sum, table) => sum + table.rows, 0);
  process.stdout.write(
    `${rows} rows of ${tables.length} tables in ${((Date.now() - began) / 1000).toFixed(1)} s, in ${folder}.\n` +
      `The log in it has ${log.size} entries, root ${log.root}.\n` +
      `Not in it: the keys, which stand in ${config.SEALBOOK_DATA_FOLDER} (see --help).\n`,
  );
} catch (error) {
  process.stderr.write(`There is no backup: ${(error as Error).message}\n`);
  process.exitCode = 1;
} finally {
  await database.stop();
}
