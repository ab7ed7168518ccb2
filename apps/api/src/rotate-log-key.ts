import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { databaseOf, readOptions } from "./command-line.ts";
import { readConfig } from "./config.ts";
import { replaceLogSeed } from "./platform/log/log-seed.ts";
import { logSigner } from "./platform/log/log-signer.ts";

const usage = `Usage: rotate-log-key [--overlap-days N]

Makes a new key for the heads of the log and puts it in place of the present one. For N days, 30 unless told otherwise, the
old one signs beside it, so that whoever holds the old key alone can still check new heads. The ledger records the new key.
Start every process of the service anew afterwards: until then it signs by the old key. Then hand out the new key.

Exit status: 0 when it is done, 1 when it is not, 2 when the command is wrong.
`;

const days = readOptions(usage, ["overlap-days"], (values) => {
  const given = Number(values["overlap-days"] ?? 30);
  if (!Number.isInteger(given) || given < 1 || given > 3650)
    throw new Error("--overlap-days is a whole number from 1 to 3650.");
  return given;
});
const config = readConfig();
const database = await databaseOf(config);
const pool = new pg.Pool({ connectionString: database.url, max: 1 });
try {
  const before = writeNoteKey(keyOfSigner(await logSigner(pool, config)));
  const until = new Date(Date.now() + days * 86_400_000);
  await replaceLogSeed(config, until);
  const key = writeNoteKey(keyOfSigner(await logSigner(pool, config)));
  process.stdout.write(
    `The new key:\n  ${key}\nThe old key, which signs beside it until ${until.toISOString()}:\n  ${before}\n` +
      "Start the service anew, then hand out the new key.\n",
  );
} catch (error) {
  process.stderr.write(`The key is as it was: ${(error as Error).message}\n`);
  process.exitCode = 1;
} finally {
  await pool.end();
  await database.stop();
}
