import { randomBytes } from "node:crypto";
import { demoSignIns } from "@sealbook/database/demo/sign-ins";
import pg from "pg";
import type { Logger } from "pino";
import type { Config } from "./config.ts";
import { loadDemo } from "./load-demo.ts";
import {
  createFirstAdministrator,
  offerShippedProfiles,
  shopExists,
  startShop,
} from "./modules/people/first-shop.ts";
import { takeUpLogKey } from "./platform/log/log-signer.ts";
import { inTransaction } from "./platform/transaction.ts";

/**
 * Makes sure that an empty database gets a shop: the demo, or an empty shop with one administrator whose one-time
 * password is shown once. Runs as the role that owns the tables, before anybody can sign in.
 *
 * @returns what to tell the person who started the service
 */
export async function prepareShop({
  adminUrl,
  config,
  log,
}: {
  adminUrl: string;
  config: Config;
  log: Logger;
}): Promise<string> {
  // One holds the lock, one works, and one counts for the demo shop's report.
  const pool = new pg.Pool({ connectionString: adminUrl, max: 3 });
  try {
    // Only one of several starting processes makes the shop; the others wait and find it.
    const lock = await pool.connect();
    try {
      await lock.query("SELECT pg_advisory_lock(hashtext('sealbook first shop'))");
      const shop = await shopExists(pool);
      if (shop !== null) {
        const offered = await inTransaction(pool, null, offerShippedProfiles);
        if (offered.length > 0)
          log.info({ profiles: offered }, "Proposed rule profiles that came with this version");
        return shop.demo ? signInLines() : "";
      }
      if (config.SEALBOOK_DEMO) {
        log.info("Loading the demo shop");
        await loadDemo(pool, undefined, (tx) => takeUpLogKey(tx, config));
        return signInLines();
      }
      const password = randomBytes(12).toString("base64url");
      await inTransaction(pool, null, async (tx) => {
        await startShop(tx, {
          name: config.SEALBOOK_SHOP_NAME,
          timeZone: config.SEALBOOK_TIME_ZONE,
          homeJurisdiction: config.SEALBOOK_HOME_JURISDICTION,
          demo: false,
        });
        await createFirstAdministrator(tx, password);
      });
      return `First sign-in: administrator / ${password}\nThis password is shown once, and opens nothing but its own change.`;
    } finally {
      lock.release(true);
    }
  } finally {
    await pool.end();
  }
}

function signInLines(): string {
  const lines = demoSignIns.map(
    ({ username, password, pin, role }) =>
      `  ${username.padEnd(12)} ${password.padEnd(20)} PIN ${pin}  ${role}`,
  );
  return ["Demo sign-ins (name, password, signing PIN, role):", ...lines].join("\n");
}
