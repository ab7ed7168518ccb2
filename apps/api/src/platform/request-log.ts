import type { FastifyInstance, FastifyReply, FastifyRequest } from "fastify";
import type { ProblemError } from "./problem-error.ts";

declare module "fastify" {
  interface FastifyRequest {
    /** The refusal or failure that the request was answered with, for its line in the log. */
    problem: ProblemError | null;
  }
}

/**
 * One line a request, written when its connection is done with it. It says who asked for what and what came of it;
 * queries, bodies and headers stay out, since names and secrets travel in them.
 */
export function logRequests(app: FastifyInstance): void {
  app.decorateRequest("problem", null);
  app.addHook("onRequest", async (request, reply) => {
    reply.header("x-request-id", request.id);
    reply.raw.once("close", () => writeLine(request, reply));
  });
}

function writeLine(request: FastifyRequest, reply: FastifyReply): void {
  const { problem, routeOptions, session } = request;
  const line = {
    method: request.method,
    path: pathOf(request.url),
    operation: routeOptions.config?.operation?.id,
    status: reply.raw.headersSent ? reply.raw.statusCode : "cut off",
    milliseconds: Math.round(reply.elapsedTime),
    person: session?.actor.id,
    problem: problem?.slug,
  };
  if (problem === null) request.log.info(line, "answered");
  else if (problem.status >= 500 && problem.cause !== undefined)
    request.log.error({ ...line, err: problem.cause }, problem.message);
  else request.log.warn(line, problem.message);
}

/** The address without its query: what people search for may be somebody's name. */
export function pathOf(url: string): string {
  const end = url.indexOf("?");
  return end === -1 ? url : url.slice(0, end);
}
