import {
  type Problem,
  type ProblemError as ProblemPlace,
  type ProblemSlug,
  slugOf,
} from "@sealbook/contract/problems";

/**
 * A refusal or failure of the service as the client handles it. `message` is the sentence for the person;
 * `slug` is what code switches on.
 */
export class ProblemError extends Error {
  readonly slug: ProblemSlug;
  readonly status: number;
  readonly title: string;
  readonly detail: string;
  /** What is wrong where: the pointer is a JSON pointer into the body, or a parameter's name. */
  readonly errors: readonly ProblemPlace[];
  /** The newer version of the record, where one stands against the request. */
  readonly current: unknown;
  readonly requestId: string | null;

  constructor(problem: Problem) {
    super(problem.detail);
    this.name = "ProblemError";
    this.slug = slugOf(problem) ?? "internal-error";
    this.status = problem.status;
    this.title = problem.title;
    this.detail = problem.detail;
    this.errors = problem.errors ?? [];
    this.current = problem.current ?? null;
    this.requestId = problem.requestId ?? null;
  }
}
