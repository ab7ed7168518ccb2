import { setTimeout as sleep } from "node:timers/promises";
import { keyOfSigner } from "@sealbook/evidence/signed-note";
import type { FastifyInstance } from "fastify";
import type { Logger } from "pino";
import { ensureDatabase } from "../../../scripts/embedded-postgres.mjs";
import { migrate } from "../../../scripts/migrate.mjs";
import { buildApp } from "./app.ts";
import { type Config, readConfig } from "./config.ts";
import { startKeepingDueDates } from "./modules/due/keep-due-dates.ts";
import { groupTasks } from "./modules/groups/jobs.ts";
import { importTasks } from "./modules/imports/jobs.ts";
import { inventoryFlagTasks } from "./modules/inventory-flags/jobs.ts";
import { logHeadTasks, startSendingHeads } from "./modules/log-heads/jobs.ts";
import { findOutletFolders } from "./modules/log-heads/log-heads.ts";
import { appRolePassword, type Database, ensureAppRole, openDatabase } from "./platform/database.ts";
import { nearlyFull } from "./platform/disk.ts";
import { lossySettings } from "./platform/durable-settings.ts";
import type { Lifecycle } from "./platform/health.ts";
import { migrateJobs, startJobs } from "./platform/jobs.ts";
import { headFolder, logSigner, signerOf } from "./platform/log/log-signer.ts";
import { lookForLostHistory } from "./platform/log/lost-history.ts";
import { startSequencer } from "./platform/log/start-sequencer.ts";
import { findHead } from "./platform/log/store.ts";
import { serviceLog } from "./platform/service-log.ts";
import { inTransaction } from "./platform/transaction.ts";
import { prepareShop } from "./prepare-shop.ts";

/** What has been started and must be stopped, in order; stopped in the opposite one. */
const running: (() => Promise<void>)[] = [];
const lifecycle: Lifecycle = { isStopping: false };
/** Requests under way have so long to end, once no more are taken. */
const lastRequestsSeconds = 25;

/** Database, migrations, first shop, server, jobs, listen. */
async function start(config: Config, log: Logger): Promise<string> {
  const adminUrl = config.DATABASE_URL ?? (await startEmbedded(config));
  await migrate({ connectionString: adminUrl, log: (line) => log.info(line) });
  await migrateJobs(adminUrl);
  const appUrl = await ensureAppRole(adminUrl, await appRolePassword(config));
  const database = openDatabase(appUrl, config, log);
  running.push(() => database.close());
  await refuseLossyDatabase(database, config, log);
  await lookForHistory(database, config, log);
  const welcome = await prepareShop({ adminUrl, config, log });
  const jobs = await startJobs({
    database,
    tasks: {
      ...inventoryFlagTasks(database, log),
      ...importTasks(database, log, () => nearlyFull(config)),
      ...groupTasks(database, log),
      ...logHeadTasks(database),
    },
    log,
  });
  running.push(() => jobs.stop());
  const dueDates = startKeepingDueDates({ database, log });
  running.push(() => dueDates.stop());
  const signer = await logSigner(database.pool, config);
  const sequencer = startSequencer({ database, signer, log });
  running.push(() => sequencer.stop());
  const sending = startSendingHeads({ database, log });
  running.push(() => sending.stop());
  const app = await buildApp({ config, database, log, logSigner: signer, lifecycle });
  running.push(() => finishRequests(app, log));
  const address = await app.listen({ host: config.HOST, port: config.PORT });
  return `\nSealbook is ready: ${address}\n${welcome}\n`;
}

async function startEmbedded(config: Config): Promise<string> {
  const embedded = await ensureDatabase({ dataFolder: config.SEALBOOK_DATA_FOLDER });
  running.push(() => embedded.stop());
  return embedded.adminUrl;
}

/** Before anything is written: are the heads that left this database still under its log? */
async function lookForHistory(database: Database, config: Config, log: Logger): Promise<void> {
  await inTransaction(database.pool, null, async (tx) => {
    const { logId } = await findHead(tx);
    const signer = await signerOf(logId, config);
    const outlets = await findOutletFolders(tx);
    await lookForLostHistory(tx, {
      folders: [headFolder(config), ...outlets],
      ownKeys: [signer, ...(signer.retiring ?? [])].map(keyOfSigner),
      log,
    });
  });
}

/** What the service confirms must survive a crash of its database; it starts on no other. */
async function refuseLossyDatabase(database: Database, config: Config, log: Logger): Promise<void> {
  const connection = await database.pool.connect();
  let sentences: string[];
  try {
    sentences = await lossySettings(connection);
  } finally {
    connection.release();
  }
  if (sentences.length === 0) return;
  const said = `A crash of this database would lose records that the service has confirmed. ${sentences.join(" ")}`;
  if (config.REQUIRE_DURABLE_DATABASE) {
    throw new Error(`${said} Set it so, or, for a trial only, REQUIRE_DURABLE_DATABASE=false.`);
  }
  log.warn(said);
}

/** Takes no more requests and lets those under way end. One that never does is cut off. */
async function finishRequests(app: FastifyInstance, log: Logger): Promise<void> {
  const cut = setTimeout(() => {
    log.warn(`cutting off requests that did not end within ${lastRequestsSeconds} s`);
    app.server.closeAllConnections();
  }, lastRequestsSeconds * 1000);
  try {
    await app.close();
  } finally {
    clearTimeout(cut);
  }
}

// A second signal waits for the first one's stop, or PostgreSQL would be left running.
let stopping: Promise<void> | undefined;
function stop(): Promise<void> {
  stopping ??= (async () => {
    lifecycle.isStopping = true;
    if (config.DRAIN_SECONDS > 0) await sleep(config.DRAIN_SECONDS * 1000);
    for (let end = running.pop(); end !== undefined; end = running.pop()) await end();
  })();
  return stopping;
}

const config = readConfig();
const log = serviceLog(config);

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
