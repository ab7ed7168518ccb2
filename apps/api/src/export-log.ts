import { createWriteStream } from "node:fs";
import { pipeline } from "node:stream/promises";
import pg from "pg";
import { databaseOf, readOptions } from "./command-line.ts";
import { readConfig } from "./config.ts";
import { exportLog } from "./platform/log/export-log.ts";

const usage = `Usage: export-log --out FILE

Writes the whole log up to its newest signed head into a new file, one line of JSON an entry, with every signed head
behind the entries that it holds. Names and addresses are in it as commitments alone. Whoever has the file checks it
without the database: verify --export FILE --head HEAD --key KEY.

Exit status: 0 when it is written, 1 when it is not, 2 when the command is wrong.
`;

const file = readOptions(usage, ["out"], ({ out }) => {
  if (out === undefined) throw new Error("Say with --out which file to write.");
  return out;
});
const config = readConfig();
const database = await databaseOf(config);
const client = new pg.Client({
  connectionString: database.url,
  application_name: "sealbook export",
});
try {
  await client.connect();
  await client.query("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY");
  let lines = 0;
  const counted = async function* (): AsyncGenerator<string> {
    const reader = {
      query: async (sql: string, values?: unknown[]) => (await client.query(sql, values)).rows,
    };
    for await (const line of exportLog(reader as Parameters<typeof exportLog>[0])) {
      lines += 1;
      yield line;
    }
  };
  await pipeline(counted, createWriteStream(file, { flags: "wx" }));
  process.stdout.write(`${lines} lines in ${file}. Check it with: npm run verify -- --export ${file}\n`);
} catch (error) {
  process.stderr.write(`The log was not exported: ${(error as Error).message}\n`);
  process.exitCode = 1;
} finally {
  await client.end();
  await database.stop();
}
