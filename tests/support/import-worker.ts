import { readConfig } from "@sealbook/api/config";
import { importTasks } from "@sealbook/api/modules/imports/jobs";
import { openDatabase } from "@sealbook/api/platform/database";
import { startJobs } from "@sealbook/api/platform/jobs";
import { pino } from "pino";

/** A process that does nothing but work on the queue of imports, to be killed in the middle of it. */
const url = process.argv[2];
if (url === undefined) throw new Error("name the database's address as the server's own role");
const log = pino({ level: "silent" });
const database = openDatabase(url, readConfig({}), log);
await startJobs({ database, tasks: importTasks(database, log), log });
process.stdout.write("working\n");
