import { type ProblemError as ErrorDetail, type ProblemSlug, problems } from "@sealbook/contract/problems";

/**
 * A refusal on its way to the person: which problem, what this person can do, where.
 * `message` is for the log, `detail` for the person.
 */
export class ProblemError extends Error {
  readonly slug: ProblemSlug;
  readonly detail: string;
  readonly errors: ErrorDetail[];
  readonly current: unknown;
  override readonly name = "ProblemError";

  constructor(
    slug: ProblemSlug,
    detail: string,
    more: { errors?: ErrorDetail[]; current?: unknown; cause?: unknown } = {},
  ) {
    super(`${slug}: ${detail}`, { cause: more.cause });
    this.slug = slug;
    this.detail = detail;
    this.errors = more.errors ?? [];
    this.current = more.current;
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
