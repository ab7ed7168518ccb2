import { randomBytes } from "node:crypto";
import pg from "pg";
import { inject } from "vitest";

export interface FreshDatabase {
  readonly name: string;
  /** Address as superuser, for arranging what the service's own role may not. */
  readonly adminUrl: string;
  /** Address as the service's own role, which owns nothing. */
  readonly appUrl: string;
  /** Removes the database, whoever is still connected. */
  drop(): Promise<void>;
}

/**
 * A migrated database of its own for one test file, copied from the template in a fraction of a second.
 *
 * @example
 * const database = await freshDatabase();
 * afterAll(() => database.drop());
 */
export async function freshDatabase(template = inject("templateDatabase")): Promise<FreshDatabase> {
  const serverUrl = inject("adminUrl");
  const name = `test_${randomBytes(6).toString("hex")}`;
  await onServer(serverUrl, `CREATE DATABASE ${name} TEMPLATE ${template}`);
  const url = new URL(serverUrl);
  url.pathname = `/${name}`;
  const appUrl = new URL(url);
  appUrl.username = "sealbook_app";
  appUrl.password = inject("appRolePassword");
  return {
    name,
    adminUrl: url.href,
    appUrl: appUrl.href,
    drop: () => onServer(serverUrl, `DROP DATABASE IF EXISTS ${name} WITH (FORCE)`),
  };
}

/**
 * Name of a database with the demo shop, to copy from. The first file that asks loads it; the story takes some seconds
 * to tell.
 */
export async function demoTemplate(load: (pool: pg.Pool) => Promise<void>): Promise<string> {
  const serverUrl = inject("adminUrl");
  const name = "sealbook_demo_template";
  const client = new pg.Client({ connectionString: serverUrl });
  await client.connect();
  try {
    await client.query("SELECT pg_advisory_lock(hashtext('sealbook demo template'))");
    const { rows } = await client.query("SELECT FROM pg_database WHERE datname = $1", [name]);
    if (rows.length > 0) return name;
    // Renamed only when the story is whole, so that a copy is never made of half a shop.
    const loading = `${name}_loading`;
    await client.query(`DROP DATABASE IF EXISTS ${loading} WITH (FORCE)`);
    await client.query(`CREATE DATABASE ${loading} TEMPLATE ${inject("templateDatabase")}`);
    const url = new URL(serverUrl);
    url.pathname = `/${loading}`;
    const pool = new pg.Pool({ connectionString: url.href, max: 2 });
    try {
      await load(pool);
    } finally {
      await pool.end();
    }
    await client.query(`ALTER DATABASE ${loading} RENAME TO ${name}`);
    return name;
  } finally {
    await client.end();
  }
}

async function onServer(serverUrl: string, sql: string): Promise<void> {
  const client = new pg.Client({ connectionString: serverUrl });
  await client.connect();
  try {
    await client.query(sql);
  } finally {
    await client.end();
  }
}
