import { readConfig } from "@sealbook/api/config";
import { exportMeters } from "@sealbook/api/modules/meter-list/export-meters";
import { openDatabase } from "@sealbook/api/platform/database";
import { exportFormats } from "@sealbook/contract/meter-list";
import { pino } from "pino";

/** A process that takes the whole list of meters out and throws it away, to see how much memory that needs. */
const [url, accountId, wanted] = process.argv.slice(2);
const format = exportFormats.find((one) => one === wanted);
if (url === undefined || accountId === undefined || format === undefined)
  throw new Error("name the database's address, an account and a format");
const log = pino({ level: "silent" });
const database = openDatabase(url, readConfig({}), log);
const file = await exportMeters({
  database,
  actor: { id: accountId, role: "storekeeper", username: "worker" },
  log,
  query: { format, order: "number" },
});
const before = process.memoryUsage().rss;
let bytes = 0;
let most = 0;
for await (const piece of file.stream) {
  bytes += Buffer.byteLength(piece as string | Buffer);
  most = Math.max(most, process.memoryUsage().rss - before);
}
await database.close();
process.stdout.write(JSON.stringify({ bytes, megabytesMore: Math.round(most / 1_048_576) }));
