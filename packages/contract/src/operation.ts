import type { z } from "zod";
import type { Permission } from "./permissions.ts";
import type { ProblemSlug } from "./problems.ts";

/**
 * One thing that the service does, as a value: route, client call, OpenAPI and the role x operation test
 * all derive from it, so there is nothing to keep in step.
 */
export interface Operation<
  Params extends z.ZodType | undefined = z.ZodType | undefined,
  Query extends z.ZodType | undefined = z.ZodType | undefined,
  Body extends z.ZodType | undefined = z.ZodType | undefined,
  Reply extends z.ZodType | "file" | undefined = z.ZodType | "file" | undefined,
> {
  /** "area.verb", unique. */
  id: string;
  summary: string;
  method: "GET" | "POST" | "PUT" | "DELETE";
  /** Path below /api with Fastify's ":name" parameters. */
  path: string;
  permission: Permission;
  params?: Params;
  query?: Query;
  body?: Body;
  /** Reply shape; "file" is a download or a document, undefined is an empty 204. */
  reply?: Reply;
  /** Status of a success; 200 unless said, 204 when there is no reply. */
  status?: 200 | 201 | 202 | 204;
  /** Problems beyond those that every operation may answer. */
  problems?: readonly ProblemSlug[];
  /**
   * A change the client may retry: it carries an Idempotency-Key header (UUID version 7), is done once, and
   * its first reply is given again.
   */
  idempotent?: boolean;
  /** An edit of a mutable row: it carries If-Match with the version it was based on. */
  versioned?: boolean;
  /** The body is a file sent as multipart/form-data with one part called "file". */
  upload?: boolean;
}

/** Declares an operation; the types of its shapes are inferred. */
export function operation<
  Params extends z.ZodType | undefined = undefined,
  Query extends z.ZodType | undefined = undefined,
  Body extends z.ZodType | undefined = undefined,
  Reply extends z.ZodType | "file" | undefined = undefined,
>(value: Operation<Params, Query, Body, Reply>): Operation<Params, Query, Body, Reply> {
  return value;
}

type Shape<S> = S extends z.ZodType ? z.infer<S> : undefined;
export type ParamsOf<O> = O extends Operation<infer P, infer _Q, infer _B, infer _R> ? Shape<P> : never;
export type QueryOf<O> = O extends Operation<infer _P, infer Q, infer _B, infer _R> ? Shape<Q> : never;
export type BodyOf<O> = O extends Operation<infer _P, infer _Q, infer B, infer _R> ? Shape<B> : never;
export type ReplyOf<O> = O extends Operation<infer _P, infer _Q, infer _B, infer R> ? Shape<R> : never;
