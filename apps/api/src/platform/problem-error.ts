import { type ProblemError as ErrorDetail, type ProblemSlug, problems } from "@sealbook/contract/problems";
import type { Tx } from "./tx.ts";

/**
 * A refusal on its way to the person: which problem, what this person can do, where.
 * `message` is for the log, `detail` for the person.
 */
export class ProblemError extends Error {
  readonly slug: ProblemSlug;
  readonly detail: string;
  readonly errors: ErrorDetail[];
  readonly current: unknown;
  /** For 429 and 503: after how many seconds it is worth trying again. */
  readonly retryAfterSeconds: number | undefined;
  /** What is to be kept although the refusal undoes everything else; runs in a transaction of its own afterwards. */
  readonly afterwards: ((tx: Tx) => Promise<void>) | undefined;
  override readonly name = "ProblemError";

  constructor(
    slug: ProblemSlug,
    detail: string,
    more: {
      errors?: ErrorDetail[];
      current?: unknown;
      cause?: unknown;
      retryAfterSeconds?: number;
      afterwards?: (tx: Tx) => Promise<void>;
    } = {},
  ) {
    super(`${slug}: ${detail}`, { cause: more.cause });
    this.slug = slug;
    this.detail = detail;
    this.errors = more.errors ?? [];
    this.current = more.current;
    this.retryAfterSeconds = more.retryAfterSeconds;
    this.afterwards = more.afterwards;
  }

  get status(): number {
    return problems[this.slug].status;
  }
}

export function notFound(what: string): ProblemError {
  return new ProblemError("not-found", `There is no ${what} under this address.`);
}

/** A rule refuses something at a place of the request. */
export function refusedByRule(pointer: string, detail: string, rule?: string): ProblemError {
  return new ProblemError("refused-by-rule", detail, {
    errors: [{ pointer, detail, ...(rule === undefined ? {} : { rule }) }],
  });
}
