import { type Logger, pino } from "pino";
import { ensureDatabase } from "../../../scripts/embedded-postgres.mjs";
import { migrate } from "../../../scripts/migrate.mjs";
import { buildApp } from "./app.ts";
import { type Config, readConfig } from "./config.ts";
import { groupTasks } from "./modules/groups/jobs.ts";
import { importTasks } from "./modules/imports/jobs.ts";
import { appRolePassword, ensureAppRole, openDatabase } from "./platform/database.ts";
import { migrateJobs, startJobs } from "./platform/jobs.ts";
import { logSigner } from "./platform/log/log-signer.ts";
import { startSequencer } from "./platform/log/start-sequencer.ts";
import { prepareShop } from "./prepare-shop.ts";

/** What has been started and must be stopped, in order; stopped in the opposite one. */
const running: (() => Promise<void>)[] = [];

/** Database, migrations, first shop, server, jobs, listen. */
async function start(config: Config, log: Logger): Promise<string> {
  const adminUrl = config.DATABASE_URL ?? (await startEmbedded(config));
  await migrate({ connectionString: adminUrl, log: (line) => log.info(line) });
  await migrateJobs(adminUrl);
  const appUrl = await ensureAppRole(adminUrl, await appRolePassword(config));
  const database = openDatabase(appUrl, config, log);
  running.push(() => database.close());
  const welcome = await prepareShop({ adminUrl, config, log });
  const jobs = await startJobs({
    database,
    tasks: { ...importTasks(database, log), ...groupTasks(database, log) },
    log,
  });
  running.push(() => jobs.stop());
  const signer = await logSigner(database.pool, config);
  const sequencer = startSequencer({ database, signer, log });
  running.push(() => sequencer.stop());
  const app = await buildApp({ config, database, log, logSigner: signer });
  running.push(() => app.close());
  const address = await app.listen({ host: config.HOST, port: config.PORT });
  return `\nSealbook is ready: ${address}\n${welcome}\n`;
}

async function startEmbedded(config: Config): Promise<string> {
  const embedded = await ensureDatabase({ dataFolder: config.SEALBOOK_DATA_FOLDER });
  running.push(() => embedded.stop());
  return embedded.adminUrl;
}

// A second signal waits for the first one's stop, or PostgreSQL would be left running.
let stopping: Promise<void> | undefined;
function stop(): Promise<void> {
  stopping ??= (async () => {
    for (let end = running.pop(); end !== undefined; end = running.pop()) await end();
  })();
  return stopping;
}

const config = readConfig();
const log = pino({ level: config.LOG_LEVEL, redact: ["req.headers.cookie", "req.headers.authorization"] });

for (const signal of ["SIGINT", "SIGTERM"] as const) {
  process.on(signal, () => {
    log.info(`${signal}: finishing requests under way`);
    stop().then(
      () => process.exit(0),
      (error: unknown) => {
        log.error({ err: error }, "could not stop cleanly");
        process.exit(1);
      },
    );
  });
}

try {
  process.stdout.write(await start(config, log));
} catch (error) {
  log.fatal({ err: error }, "could not start");
  await stop();
  process.exitCode = 1;
}
