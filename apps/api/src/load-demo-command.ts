import { parseArgs } from "node:util";
import { demoScenario } from "@sealbook/database/demo/scenario";
import pg from "pg";
import { migrate } from "../../../scripts/migrate.mjs";
import { databaseOf } from "./command-line.ts";
import { readConfig } from "./config.ts";
import { demoToday, loadLargeDemo } from "./large-demo/load-large-demo.ts";
import { loadDemo } from "./load-demo.ts";
import { shopExists } from "./modules/people/first-shop.ts";
// Sets how dates are read, as in the server.
import "./platform/database.ts";
import { migrateJobs } from "./platform/jobs.ts";

const usage = `Usage: npm run load-demo -- --meters N --tests M [--seed S]

Fills a database with a made-up utility of N meters and M tests, to see how the service does at size. The database is the
one that DATABASE_URL names, else the embedded one; it must be empty or hold the demo shop, without such a load yet.

  --meters N  20 or more
  --tests M   0 or more
  --seed S    whole number; the same seed on the same day gives the same utility (1 unless given)

Stop the service before, or it may answer slowly: indexes are taken off meanwhile. A load that is cut off leaves a
database that is of no more use; \`npm run demo:reset\` throws the embedded one away.
`;

function wholeNumber(text: string | undefined, least: number): number | null {
  const number = Number(text);
  return text !== undefined && Number.isSafeInteger(number) && number >= least ? number : null;
}

async function main(): Promise<number> {
  const { values } = parseArgs({
    options: {
      meters: { type: "string" },
      tests: { type: "string" },
      seed: { type: "string", default: "1" },
    },
  });
  const meters = wholeNumber(values.meters, 20);
  const tests = wholeNumber(values.tests, 0);
  const seed = wholeNumber(values.seed, 0);
  if (meters === null || tests === null || seed === null) {
    process.stderr.write(usage);
    return 2;
  }
  const config = readConfig();
  const database = await databaseOf(config);
  const pool = new pg.Pool({ connectionString: database.url, max: 3 });
  try {
    await migrate({ connectionString: database.url });
    await migrateJobs(database.url);
    const shop = await shopExists(pool);
    if (shop !== null && !shop.demo) {
      process.stderr.write("This database holds a shop of somebody's own; nothing was loaded into it.\n");
      return 1;
    }
    if (await hasLoad(pool)) {
      process.stderr.write(
        "This database holds such a load already, or a part of one; start with an empty one.\n",
      );
      return 1;
    }
    if (shop === null) await loadDemo(pool);
    else if (!(await isDemoOfToday(pool))) {
      process.stderr.write(
        "This demo shop was opened on another day, and its story was another; start with an empty database.\n",
      );
      return 1;
    }
    const start = performance.now();
    await loadLargeDemo(pool, {
      meters,
      tests,
      seed,
      today: demoToday(),
      onStep: (what, seconds) =>
        process.stdout.write(`${what.padEnd(48)} ${seconds.toFixed(1).padStart(8)} s\n`),
    });
    const seconds = ((performance.now() - start) / 1000).toFixed(1);
    process.stdout.write(`${"all".padEnd(48)} ${seconds.padStart(8)} s\n`);
    return 0;
  } finally {
    await pool.end();
    await database.stop();
  }
}

/** The demo's story is told anew each day; a load goes on with the one of its own day. */
async function isDemoOfToday(pool: pg.Pool): Promise<boolean> {
  const { types } = demoScenario(demoToday());
  const { rows } = await pool.query("SELECT FROM meter_type WHERE id = $1", [types[0]?.id]);
  return rows.length > 0;
}

async function hasLoad(pool: pg.Pool): Promise<boolean> {
  const { rows } = await pool.query<{ is: boolean }>(
    `SELECT to_regclass('public.unfinished_load') IS NOT NULL
       OR EXISTS (SELECT FROM ledger_entry WHERE action = 'demo.load') AS is`,
  );
  return rows[0]?.is === true;
}

process.exitCode = await main();
