import { resolve } from "node:path";
import { databaseOf, readOptions } from "./command-line.ts";
import { readConfig } from "./config.ts";
import { restore } from "./platform/backup/restore.ts";

const usage = `Usage: restore --from FOLDER

Puts a backup into an empty database: the one that DATABASE_URL names, else a new embedded one, for which the data folder
must hold none yet (set SEALBOOK_DATA_FOLDER to a new folder, or move postgresql/ in it aside).

Put log-key-seed and log-heads into the data folder before the service starts: with them it signs by the same key, and
tells when a head that left is newer than the backup. It then only reads until an administrator signs what happened.

Exit status: 0 when the backup is restored, 1 when it is not, 2 when the command is wrong.
`;

const folder = readOptions(usage, ["from"], ({ from }) => {
  if (from === undefined) throw new Error("Say with --from where the backup is.");
  return resolve(from);
});
const config = readConfig();
const database = await databaseOf(config);
try {
  const began = Date.now();
  const { takenAt, log, tables } = await restore(database.url, folder);
  const rows = tables.reduce((sum, table) => sum + table.rows, 0);
  process.stdout.write(
    `${rows} rows of ${tables.length} tables, as of ${takenAt}, in ${((Date.now() - began) / 1000).toFixed(1)} s.\n` +
      `The log has the head that the backup names: ${log.size} entries, root ${log.root}.\n` +
      "Look through all of it with npm run verify before the service starts.\n",
  );
} catch (error) {
  process.stderr.write(`The backup was not restored: ${(error as Error).message}\n`);
  process.exitCode = 1;
} finally {
  await database.stop();
}
