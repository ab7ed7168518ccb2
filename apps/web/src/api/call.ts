import type { BodyOf, Operation, ParamsOf, QueryOf, ReplyOf } from "@sealbook/contract/operation";
import { type Problem, problemSchema, problems } from "@sealbook/contract/problems";
import { newId } from "./new-id.ts";
import { operationUrl, type UrlValues } from "./operation-url.ts";
import { ProblemError } from "./problem-error.ts";

type WithParams<O> = ParamsOf<O> extends undefined ? { params?: undefined } : { params: ParamsOf<O> };
type WithQuery<O> = QueryOf<O> extends undefined ? { query?: undefined } : { query?: Partial<QueryOf<O>> };
type WithBody<O> = BodyOf<O> extends undefined ? { body?: undefined } : { body: BodyOf<O> };

/** What an operation is called with. */
export type CallInput<O> = WithParams<O> &
  WithQuery<O> &
  WithBody<O> & {
    /** Version of the record that the edit was based on; needed by versioned operations. */
    version?: number;
    /** Idempotency key; the body's own id serves unless one is given. */
    key?: string;
    /** The file of an upload. */
    file?: File;
    signal?: AbortSignal;
  };

/** What it answers: the reply's shape, a Blob for a file, nothing for an empty success. */
export type CallReply<O> =
  O extends Operation<infer _P, infer _Q, infer _B, infer R> ? (R extends "file" ? Blob : ReplyOf<O>) : never;

/**
 * Calls one operation of the service and gives its reply.
 *
 * @throws ProblemError for every refusal and failure, a broken connection included ("unavailable")
 * @throws RangeError if a versioned operation is called without a version, or an upload without its file
 */
export async function call<O extends Operation>(operation: O, input: CallInput<O>): Promise<CallReply<O>> {
  const { body, file, key, params, query, signal, version } = input as CallInput<Operation>;
  const headers = new Headers({ Accept: "application/json, application/problem+json" });
  const request: RequestInit = { method: operation.method, headers, credentials: "same-origin" };
  if (signal !== undefined) request.signal = signal;
  if (operation.method !== "GET") headers.set("X-Requested-With", "sealbook");
  if (operation.idempotent === true) headers.set("Idempotency-Key", key ?? idOf(body) ?? newId());
  if (operation.versioned === true) {
    if (version === undefined) throw new RangeError(`${operation.id} needs the version it was based on`);
    headers.set("If-Match", `"${version}"`);
  }
  if (operation.upload === true) {
    if (file === undefined) throw new RangeError(`${operation.id} needs a file`);
    const form = new FormData();
    form.set("file", file);
    request.body = form;
  } else if (body !== undefined) {
    headers.set("Content-Type", "application/json");
    request.body = JSON.stringify(body);
  }
  const url = operationUrl(operation, params as UrlValues | undefined, query as UrlValues | undefined);
  const response = await send(url, request);
  if (!response.ok) throw new ProblemError(await problemIn(response));
  if (operation.reply === undefined || response.status === 204) return undefined as CallReply<O>;
  if (operation.reply === "file") return (await response.blob()) as CallReply<O>;
  return (await response.json()) as CallReply<O>;
}

async function send(url: string, request: RequestInit): Promise<Response> {
  try {
    return await fetch(url, request);
  } catch (cause) {
    if (cause instanceof DOMException && cause.name === "AbortError") throw cause;
    throw new ProblemError({
      type: "/problems/unavailable",
      status: problems.unavailable.status,
      title: "No connection",
      detail:
        "The service could not be reached. What you typed is still here: check the connection and try again.",
    });
  }
}

/** Reads the problem in a reply; a reply that is none (from a proxy in between, say) becomes one. */
async function problemIn(response: Response): Promise<Problem> {
  const text = await response.text();
  try {
    const read = problemSchema.safeParse(JSON.parse(text));
    if (read.success) return read.data;
  } catch {
    // Not JSON: the sentence below is all that can be said.
  }
  const slug =
    response.status === 502 || response.status === 503 || response.status === 504
      ? "unavailable"
      : "internal-error";
  return {
    type: `/problems/${slug}`,
    status: response.status,
    title: problems[slug].title,
    detail: `${problems[slug].meaning} ${problems[slug].remedy}`,
  };
}

function idOf(body: unknown): string | undefined {
  if (typeof body !== "object" || body === null || !("id" in body)) return undefined;
  return typeof body.id === "string" ? body.id : undefined;
}
