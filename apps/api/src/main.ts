import { pino } from "pino";
import { ensureDatabase } from "../../../scripts/embedded-postgres.mjs";
import { migrate } from "../../../scripts/migrate.mjs";
import { buildApp } from "./app.ts";
import { readConfig } from "./config.ts";
import { groupTasks } from "./modules/groups/jobs.ts";
import { importTasks } from "./modules/imports/jobs.ts";
import { appRolePassword, ensureAppRole, openDatabase } from "./platform/database.ts";
import { migrateJobs, startJobs } from "./platform/jobs.ts";
import { prepareShop } from "./prepare-shop.ts";

/** The process: settings, database, migrations, first shop, jobs, listen, shut down. */
const config = readConfig();
const log = pino({ level: config.LOG_LEVEL, redact: ["req.headers.cookie", "req.headers.authorization"] });

const embedded =
  config.DATABASE_URL === undefined
    ? await ensureDatabase({ dataFolder: config.SEALBOOK_DATA_FOLDER })
    : null;
const adminUrl = config.DATABASE_URL ?? embedded?.adminUrl ?? "";
await migrate({ connectionString: adminUrl, log: (line) => log.info(line) });
await migrateJobs(adminUrl);
const appUrl = await ensureAppRole(adminUrl, await appRolePassword(config));
const database = openDatabase(appUrl, config, log);
const welcome = await prepareShop({ adminUrl, config, log });

const app = await buildApp({ config, database, log });
const jobs = await startJobs({
  database,
  tasks: { ...importTasks(database, log), ...groupTasks(database, log) },
  log,
});

async function finish(signal: string): Promise<void> {
  log.info(`${signal}: finishing requests under way`);
  await app.close();
  await jobs.stop();
  await database.close();
  await embedded?.stop();
}

// A second signal waits for the first one's stop, or PostgreSQL would be left running.
let stopping: Promise<void> | undefined;
function stop(signal: string): Promise<void> {
  stopping ??= finish(signal);
  return stopping;
}
for (const signal of ["SIGINT", "SIGTERM"] as const) {
  process.on(signal, () => {
    stop(signal).then(
      () => process.exit(0),
      (error: unknown) => {
        log.error({ err: error }, "could not stop cleanly");
        process.exit(1);
      },
    );
  });
}

const address = await app.listen({ host: config.HOST, port: config.PORT });
process.stdout.write(`\nSealbook is ready: ${address}\n${welcome}\n`);
