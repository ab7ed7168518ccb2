import { parseArgs } from "node:util";
import { writeNoteKey } from "@sealbook/evidence/note-key";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import pg from "pg";
import { ensureDatabase } from "../../../scripts/embedded-postgres.mjs";
import { readConfig } from "./config.ts";
import { replaceLogSeed } from "./platform/log/log-seed.ts";
import { logSigner } from "./platform/log/log-signer.ts";

const usage = `Usage: rotate-log-key [--overlap-days N]

Makes a new key for the heads of the log and puts it in place of the present one. For N days, 30 unless told otherwise, the
old one signs beside it, so that whoever holds the old key alone can still check new heads. The ledger records the new key.
Start every process of the service anew afterwards: until then it signs by the old key. Then hand out the new key.

Exit status: 0 when it is done, 1 when it is not, 2 when the command is wrong.
`;

let days = 30;
try {
  const { values } = parseArgs({
    options: { "overlap-days": { type: "string" }, help: { type: "boolean" } },
  });
  if (values.help) {
    process.stdout.write(usage);
    process.exit(0);
  }
  days = Number(values["overlap-days"] ?? days);
  if (!Number.isInteger(days) || days < 1 || days > 3650)
    throw new Error("--overlap-days is a whole number from 1 to 3650.");
} catch (error) {
  process.stderr.write(`${(error as Error).message}\n\n${usage}`);
  process.exit(2);
}
const config = readConfig();
const embedded =
  config.DATABASE_URL === undefined
    ? await ensureDatabase({ dataFolder: config.SEALBOOK_DATA_FOLDER })
    : null;
const pool = new pg.Pool({ connectionString: config.DATABASE_URL ?? embedded?.adminUrl ?? "", max: 1 });
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
  await embedded?.stop();
}
