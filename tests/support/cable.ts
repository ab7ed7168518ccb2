import { once } from "node:events";
import { connect, createServer, type Server, type Socket } from "node:net";

/** What stands between the service and its database. */
export interface Cable {
  /** Address of the database by way of the cable. */
  readonly url: string;
  /** Nothing passes any more, and nobody is told: a pulled cable, a frozen machine. */
  fallSilent(): void;
  /** What was silent is broken, and new connections pass again. */
  speakAgain(): void;
  /** Connections break and new ones are refused: the database has stopped. */
  close(): Promise<void>;
  reopen(): Promise<void>;
}

/** Stands between the service and its database: lets everything pass, nothing, or not even a connection. */
export async function aCable(databaseUrl: string): Promise<Cable> {
  const target = new URL(databaseUrl);
  const sockets = new Set<Socket>();
  let isSilent = false;
  const pass = (from: Socket, to: Socket) => {
    sockets.add(from);
    from.on("data", (chunk) => {
      if (!isSilent) to.write(chunk);
    });
    from.on("error", () => undefined);
    from.on("close", () => {
      sockets.delete(from);
      if (!isSilent) to.destroy();
    });
  };
  const open = (): Server =>
    createServer((client) => {
      const database = connect(Number(target.port), target.hostname);
      pass(client, database);
      pass(database, client);
    });
  let server = open();
  server.listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  const port = typeof address === "object" && address !== null ? address.port : 0;
  const url = new URL(target);
  url.port = String(port);
  url.hostname = "127.0.0.1";
  const breakAll = () => {
    for (const socket of sockets) socket.destroy();
  };
  return {
    url: url.href,
    fallSilent() {
      isSilent = true;
    },
    speakAgain() {
      isSilent = false;
      breakAll();
    },
    async close() {
      breakAll();
      if (!server.listening) return;
      server.close();
      breakAll();
      await once(server, "close");
    },
    async reopen() {
      server = open();
      server.listen(port, "127.0.0.1");
      await once(server, "listening");
    },
  };
}
