import { type ChildProcess, spawn } from "node:child_process";
import { randomBytes } from "node:crypto";
import { once } from "node:events";
import { chmodSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { connect, createServer, type Server, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";
import { ensureAppRole } from "@sealbook/api/platform/database";
import { migrateJobs } from "@sealbook/api/platform/jobs";
import pg from "pg";
import { type EmbeddedDatabase, ensureDatabase } from "../../scripts/embedded-postgres.mjs";
import { migrate } from "../../scripts/migrate.mjs";

const main = fileURLToPath(new URL("../../apps/api/src/main.ts", import.meta.url));

/** A service of its own processes, with a PostgreSQL that keeps its promises (fsync on), both of which can be killed. */
export interface FaultyService {
  readonly adminUrl: string;
  readonly appUrl: string;
  /** Pool as the role that owns the tables; queries fail while the database is down. */
  readonly admin: pg.Pool;
  /** Where clients find the service: a proxy that can cut their connections. */
  readonly url: string;
  /** Starts the service's process and waits until it is ready. */
  startApi(settings?: Record<string, string>): Promise<void>;
  /** Kills the service's process in the middle of whatever it does (SIGKILL). */
  killApi(): Promise<void>;
  /** Asks the service's process to stop; its exit code. */
  stopApi(): Promise<number | null>;
  /** Stops PostgreSQL at once, without a checkpoint (immediate shutdown), and starts it again. */
  crashDatabase(): Promise<void>;
  /** Ends every connection of the service to its database. */
  cutDatabaseConnections(): Promise<void>;
  /** Breaks every connection of the clients to the service. */
  cutClients(): void;
  /** Environment under which the tools of the project work on this database. */
  readonly environment: Record<string, string>;
  close(): Promise<void>;
}

/** Where the service's PostgreSQL comes from. */
export interface DatabaseKeeper {
  readonly adminUrl: string;
  /** Stops it at once, without a checkpoint, and starts it again. */
  crash(): Promise<void>;
  stop(): Promise<void>;
}

export async function faultyService(
  keep: (folder: string) => Promise<DatabaseKeeper> = keepDatabase,
): Promise<FaultyService> {
  const folder = mkdtempSync(join(tmpdir(), "sealbook-faults-"));
  chmodSync(folder, 0o711);
  const keeper = await keep(folder);
  const { adminUrl } = keeper;
  await migrate({ connectionString: adminUrl });
  await migrateJobs(adminUrl);
  const password = randomBytes(18).toString("hex");
  const appUrl = await ensureAppRole(adminUrl, password);
  const admin = new pg.Pool({ connectionString: adminUrl, max: 4 });
  admin.on("error", () => undefined);
  const apiPort = await freePort();
  const proxy = await startProxy(apiPort);
  const environment = {
    DATABASE_URL: adminUrl,
    DATABASE_APP_PASSWORD: password,
    SEALBOOK_DATA_FOLDER: join(folder, "service"),
  };
  let api: ChildProcess | null = null;

  const service: FaultyService = {
    adminUrl,
    appUrl,
    admin,
    url: proxy.url,
    environment,
    async startApi(settings = {}) {
      const child = spawn(process.execPath, ["--import", "tsx", main], {
        env: {
          ...process.env,
          ...environment,
          PORT: String(apiPort),
          SEALBOOK_DEMO: "false",
          LOG_LEVEL: "fatal",
          REQUESTS_PER_MINUTE: "1000000",
          REQUESTS_PER_MINUTE_OF_A_PERSON: "1000000",
          SIGN_INS_PER_MINUTE: "10000",
          // The machine is full of clients; that the service falls behind is no matter here.
          EVENT_LOOP_DELAY_MILLISECONDS: "60000",
          ...settings,
        },
        stdio: ["ignore", "pipe", "inherit"],
      });
      api = child;
      let said = "";
      await new Promise<void>((resolve, reject) => {
        child.stdout.on("data", (text) => {
          said += text;
          if (said.includes("Sealbook is ready")) resolve();
        });
        child.once("exit", (code) =>
          reject(new Error(`the service ended with ${code} before it was ready: ${said}`)),
        );
      });
    },
    async killApi() {
      if (api === null) return;
      const ended = once(api, "exit");
      api.kill("SIGKILL");
      await ended;
      api = null;
    },
    async stopApi() {
      if (api === null) return null;
      const ended = once(api, "exit");
      api.kill("SIGTERM");
      const [code] = (await ended) as [number | null];
      api = null;
      return code;
    },
    crashDatabase: () => keeper.crash(),
    async cutDatabaseConnections() {
      await admin.query(
        "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE usename = 'sealbook_app' AND pid <> pg_backend_pid()",
      );
    },
    cutClients: proxy.cut,
    async close() {
      await service.killApi();
      await proxy.close();
      await admin.end();
      await keeper.stop();
      rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
    },
  };
  return service;
}

/** The embedded PostgreSQL, durable, in a folder below this one. */
async function keepDatabase(folder: string): Promise<DatabaseKeeper> {
  const dataFolder = join(folder, "database");
  const start = (): Promise<EmbeddedDatabase> =>
    ensureDatabase({ dataFolder, durable: true, settings: { max_connections: "100" } });
  let server = await start();
  return {
    adminUrl: server.adminUrl,
    async crash() {
      const pidFile = join(dataFolder, "postgresql", "cluster", "postmaster.pid");
      const pid = Number(readFileSync(pidFile, "utf8").split("\n")[0]);
      process.kill(pid, "SIGQUIT");
      while (isAlive(pid)) await sleep(5);
      server = await start();
    },
    stop: () => server.stop(),
  };
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
  } catch {
    return false;
  }
  try {
    // A dead process that nobody has looked at yet is a zombie (Z).
    return !/^\d+ \(.*\) Z/s.test(readFileSync(`/proc/${pid}/stat`, "utf8"));
  } catch {
    return process.platform !== "linux";
  }
}

async function freePort(): Promise<number> {
  const server = createServer();
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  server.close();
  await once(server, "close");
  if (address === null || typeof address === "string") throw new Error("a server on a port has a port");
  return address.port;
}

/** Passes bytes on, and can be told to break every connection as a pulled cable would. */
async function startProxy(port: number): Promise<{ url: string; cut(): void; close(): Promise<void> }> {
  const sockets = new Set<Socket>();
  const keep = (socket: Socket, other: Socket) => {
    sockets.add(socket);
    socket.on("error", () => undefined);
    socket.on("close", () => {
      sockets.delete(socket);
      other.destroy();
    });
  };
  const server: Server = createServer((client) => {
    const service = connect(port, "127.0.0.1");
    keep(client, service);
    keep(service, client);
    client.pipe(service);
    service.pipe(client);
  });
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  if (address === null || typeof address === "string") throw new Error("a server on a port has a port");
  const cut = () => {
    for (const socket of sockets) socket.destroy();
  };
  return {
    url: `http://127.0.0.1:${address.port}`,
    cut,
    async close() {
      cut();
      server.close();
      await once(server, "close");
    },
  };
}
