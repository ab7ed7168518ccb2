import pg from "pg";
import type { Logger } from "pino";
import type { Database } from "./database.ts";
import { destroy } from "./destroy-connection.ts";

/** How often the database is asked whether it is there, and how long it may take to answer, in milliseconds. */
const askEvery = 1_000;
const answerWithin = 2_000;
const waitingStep = 100;

/** Knows whether the database answers, by asking it over a connection of its own. */
export interface DatabaseWatch {
  /** Whether it did not answer when it was last asked, twice in a row. */
  readonly isAway: boolean;
  /** Milliseconds that its last answer took; null before the first one and while it is away. */
  readonly answeredIn: number | null;
  /** Asks for the first time, and from then on until stopped. */
  start(): Promise<void>;
  stop(): Promise<void>;
}

/**
 * Watches the database. While it is away, requests are refused at once instead of each waiting by itself.
 * When it falls silent without closing its connections (a cable, a frozen machine), those that requests wait on are
 * broken, so that the requests end; otherwise they would hang for as long as TCP hopes.
 */
export function watchDatabase(
  database: Pick<Database, "url" | "breakConnections">,
  log: Logger,
): DatabaseWatch {
  let client: pg.Client | null = null;
  let isAway = false;
  let answeredIn: number | null = null;
  let isStopping = false;
  let timer: NodeJS.Timeout | undefined;

  const ask = async (): Promise<void> => {
    const began = performance.now();
    const asked = client ?? newClient(database.url);
    try {
      await inTime(
        (async () => {
          if (client === null) await asked.connect();
          await asked.query("SELECT 1");
        })(),
      );
      client = asked;
      answeredIn = performance.now() - began;
    } catch (error) {
      client = null;
      destroy(asked);
      throw error;
    }
  };
  const round = async (): Promise<void> => {
    const failure = await ask().then(
      () => null,
      // A connection may break by itself: a new one tells.
      () =>
        ask().then(
          () => null,
          (error: unknown) => error,
        ),
    );
    if (failure === null || hasAnswered(failure)) {
      if (isAway) log.warn("the database answers again");
      isAway = false;
      return;
    }
    answeredIn = null;
    if (!isAway && !isStopping)
      log.error({ err: failure }, "the database does not answer; requests are refused");
    isAway = true;
    if (failure instanceof Silent) database.breakConnections();
  };
  let doing: Promise<void> = Promise.resolve();
  const next = (): void => {
    doing = round().then(() => {
      if (!isStopping) timer = setTimeout(next, askEvery);
    });
  };
  return {
    get isAway() {
      return isAway;
    },
    get answeredIn() {
      return answeredIn;
    },
    async start() {
      next();
      await doing;
    },
    async stop() {
      isStopping = true;
      clearTimeout(timer);
      await doing;
      await client?.end().catch(() => undefined);
    },
  };
}

/** The database took too long. */
class Silent extends Error {
  override readonly name = "Silent";
}

function newClient(url: string): pg.Client {
  const client = new pg.Client({ connectionString: url, application_name: "sealbook watch" });
  client.on("error", () => undefined);
  return client;
}

/**
 * Waits in short steps: a stall of this very process, in which an answer may have come unread, counts as one of them.
 */
async function inTime(work: Promise<void>): Promise<void> {
  let steps = 0;
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<never>((_resolve, reject) => {
    timer = setInterval(() => {
      steps += 1;
      if (steps * waitingStep >= answerWithin) reject(new Silent(`no answer within ${answerWithin} ms`));
    }, waitingStep);
  });
  // What comes after the time is up is nobody's concern any more.
  work.catch(() => undefined);
  try {
    await Promise.race([work, late]);
  } finally {
    clearInterval(timer);
  }
}

/** A server that refuses for want of a free connection is there. */
function hasAnswered(error: unknown): boolean {
  return (error as { code?: unknown }).code === "53300";
}
