import { setTimeout as sleep } from "node:timers/promises";
import { testPassword } from "../support/app.ts";

export interface Answer {
  readonly status: number;
  // biome-ignore lint/suspicious/noExplicitAny: a reply's shape is its operation's, and is looked at where it is known.
  readonly body: any;
}

interface Request {
  readonly method?: string;
  readonly headers?: Record<string, string>;
  readonly json?: unknown;
  readonly form?: () => FormData;
}

/** Counts what the clients of a run met on their way. */
export interface Tally {
  requests: number;
  retries: number;
  /** Longest wait for any answer, a refusal included, in milliseconds. */
  longest: number;
  /** Refusals for want of a working service, as status and problem, and how often each came. */
  readonly refusals: Map<string, number>;
}

/**
 * A person's program that asks until it is answered: whatever the service could not finish (no connection, 429, 5xx) is
 * asked again, the same request with the same key, as the page does it when somebody presses the button again.
 */
export class StubbornClient {
  #cookie = "";
  constructor(
    readonly url: string,
    readonly username: string,
    readonly tally: Tally,
    readonly isOver: () => boolean = () => false,
  ) {}

  async ask(path: string, request: Request | (() => Request) = {}): Promise<Answer> {
    for (let attempt = 0; ; attempt++) {
      if (this.isOver()) throw new Over();
      const answer = await this.#once(path, typeof request === "function" ? request() : request);
      if (answer?.status === 401 && path !== "/api/session") {
        await this.signIn();
      } else if (answer !== null) {
        if (answer.status < 500 && answer.status !== 429) return answer;
        const what = `${answer.status} ${answer.body?.type}: ${answer.body?.detail}`;
        this.tally.refusals.set(what, (this.tally.refusals.get(what) ?? 0) + 1);
      }
      this.tally.retries += 1;
      await sleep(Math.min(20 * 2 ** attempt, 400));
    }
  }

  async signIn(): Promise<void> {
    const { status, body } = await this.ask("/api/session", {
      method: "POST",
      json: { username: this.username, password: testPassword },
    });
    if (status !== 200) throw new Error(`${this.username} cannot sign in: ${JSON.stringify(body)}`);
  }

  /** One attempt; null when the connection broke. */
  async #once(path: string, { method = "GET", headers = {}, json, form }: Request): Promise<Answer | null> {
    const began = performance.now();
    this.tally.requests += 1;
    try {
      const reply = await fetch(`${this.url}${path}`, {
        method,
        headers: {
          cookie: this.#cookie,
          ...(json === undefined ? {} : { "content-type": "application/json" }),
          ...headers,
        },
        ...(json === undefined ? {} : { body: JSON.stringify(json) }),
        ...(form === undefined ? {} : { body: form() }),
        signal: AbortSignal.timeout(20_000),
      });
      const text = await reply.text();
      const cookie = reply.headers.getSetCookie()[0]?.split(";")[0];
      if (cookie !== undefined) this.#cookie = cookie;
      return { status: reply.status, body: text === "" ? null : JSON.parse(text) };
    } catch {
      return null;
    } finally {
      this.tally.longest = Math.max(this.tally.longest, performance.now() - began);
    }
  }
}

/** The run ended while a client was still asking. */
class Over extends Error {
  override readonly name = "Over";
}
