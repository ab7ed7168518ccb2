import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { setTimeout as sleep } from "node:timers/promises";
import { fileURLToPath } from "node:url";

/** A process of the whole service, as `npm start` runs it. */
export interface ServiceProcess {
  readonly address: string;
  readonly child: ChildProcess;
  /** Sends a request as somebody who is signed in there or elsewhere. */
  ask(
    method: string,
    path: string,
    options?: { cookie?: string; body?: unknown; key?: string },
  ): Promise<Reply>;
  /** Ends it as a shutdown does, and waits. */
  stop(): Promise<void>;
}

interface Reply {
  readonly status: number;
  readonly body: Record<string, unknown>;
  /** The session's cookie, where the reply sets one. */
  readonly cookie: string;
}

/** Starts the service on a database and waits until it listens. */
export async function startService(settings: Record<string, string>): Promise<ServiceProcess> {
  const main = fileURLToPath(new URL("../../apps/api/src/main.ts", import.meta.url));
  const child = spawn(process.execPath, ["--import", "tsx", main], {
    env: { ...process.env, PORT: "0", LOG_LEVEL: "error", SEALBOOK_DEMO: "false", ...settings },
    stdio: ["ignore", "pipe", "pipe"],
  });
  let said = "";
  const listen = new Promise<string>((resolve, reject) => {
    const hear = (piece: Buffer) => {
      said += piece.toString();
      const found = /Sealbook is ready: (\S+)/.exec(said)?.[1];
      if (found !== undefined) resolve(found);
    };
    child.stdout?.on("data", hear);
    child.stderr?.on("data", hear);
    child.once("exit", () => reject(new Error(`the service ended instead of listening:\n${said}`)));
  });
  const address = await listen;
  return {
    address,
    child,
    async ask(method, path, { cookie, body, key } = {}) {
      const send = () =>
        fetch(`${address}/api${path}`, {
          method,
          headers: {
            ...(body === undefined ? {} : { "content-type": "application/json" }),
            ...(cookie === undefined ? {} : { cookie }),
            ...(key === undefined ? {} : { "idempotency-key": key }),
          },
          ...(body === undefined ? {} : { body: JSON.stringify(body) }),
        });
      let reply = await send();
      // A busy machine makes the service ask for patience; nothing was done then.
      for (let tries = 0; reply.status === 503 && tries < 20; tries++) {
        await sleep(500);
        reply = await send();
      }
      const text = await reply.text();
      const cookies = reply.headers.getSetCookie().map((line) => line.split(";")[0] ?? "");
      return {
        status: reply.status,
        body: text === "" ? {} : (JSON.parse(text) as Record<string, unknown>),
        cookie: cookies.join("; "),
      };
    },
    async stop() {
      if (child.exitCode !== null) return;
      child.kill("SIGTERM");
      await once(child, "exit");
    },
  };
}
