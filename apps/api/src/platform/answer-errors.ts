import { type ProblemError as ErrorDetail, type Problem, problems } from "@sealbook/contract/problems";
import { sentenceOfIssue } from "@sealbook/contract/sentence-of-issue";
import type { FastifyError, FastifyInstance, FastifyReply, FastifyRequest } from "fastify";
import {
  hasZodFastifySchemaValidationErrors,
  isResponseSerializationError,
  type ZodFastifySchemaValidationError,
} from "fastify-type-provider-zod";
import type { z } from "zod";
import { isDatabaseUnavailable, isDiskFull, isHistoryLostError, isIdTaken } from "./database-errors.ts";
import { ProblemError } from "./problem-error.ts";

/** The one place that turns errors into replies. Each is logged once, in the line of its request. */
export function answerErrors(app: FastifyInstance): void {
  app.setErrorHandler((error: FastifyError, request, reply) => sendProblem(request, reply, problemOf(error)));
  app.setNotFoundHandler((request, reply) =>
    sendProblem(request, reply, new ProblemError("not-found", "There is nothing under this address.")),
  );
}

/** An address that cannot even be read reaches no route, and so no hook. */
export function answerUnreadableAddress(_error: Error, request: FastifyRequest, reply: FastifyReply): void {
  const problem = new ProblemError("malformed-request", "The address could not be read.");
  request.log.warn({ status: problem.status, problem: problem.slug }, problem.message);
  reply.header("x-request-id", request.id);
  sendProblem(request, reply, problem);
}

export function sendProblem(
  request: FastifyRequest,
  reply: FastifyReply,
  problem: ProblemError,
): FastifyReply {
  request.problem = problem;
  const body: Problem = {
    type: `/problems/${problem.slug}`,
    title: problems[problem.slug].title,
    status: problem.status,
    detail: problem.detail,
    ...(problem.errors.length > 0 ? { errors: problem.errors } : {}),
    ...(problem.current === undefined ? {} : { current: problem.current }),
    requestId: request.id,
  };
  if ([429, 503, 507].includes(problem.status))
    reply.header("retry-after", reply.getHeader("retry-after") ?? String(problem.retryAfterSeconds ?? 2));
  // Serialised here: the route's reply schema describes successes only.
  return reply
    .status(problem.status)
    .type("application/problem+json")
    .serializer(String)
    .send(JSON.stringify(body));
}

function problemOf(error: FastifyError | Error): ProblemError {
  if (error instanceof ProblemError) return error;
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.slice(0, 50).map(errorOfValidation);
    return new ProblemError(
      "malformed-request",
      "Some fields cannot be used as they stand; nothing was changed.",
      { errors },
    );
  }
  if (isResponseSerializationError(error))
    return new ProblemError("internal-error", sentence, { cause: error });
  if (isIdTaken(error)) {
    return new ProblemError(
      "already-exists",
      "Another record has this id already; nothing was changed. Send this one under a new id.",
      { cause: error },
    );
  }
  if (isDiskFull(error)) {
    return new ProblemError(
      "storage-full",
      "The database has no room left on its disk; nothing was changed. Tell an administrator to make room, then try again.",
      { cause: error },
    );
  }
  if (isHistoryLostError(error)) {
    return new ProblemError(
      "restored-history",
      "Nothing can be recorded at present: this database is older than what has left it. What you typed is kept; tell an administrator, who finds out what happened and signs it.",
      { cause: error },
    );
  }
  if (isDatabaseUnavailable(error)) {
    return new ProblemError(
      "unavailable",
      "The database does not answer at this moment; nothing was changed. Try again.",
      { cause: error },
    );
  }
  const status = "statusCode" in error ? (error.statusCode ?? 500) : 500;
  if (status === 413)
    return new ProblemError("too-large", "This is larger than the service takes at once.", { cause: error });
  if (status === 415)
    return new ProblemError("malformed-request", "The body's content type cannot be read here.", {
      cause: error,
    });
  if (status === 429)
    return new ProblemError("too-many-requests", "Too many requests from here; wait a moment.", {
      cause: error,
    });
  if (status >= 400 && status < 500)
    return new ProblemError("malformed-request", "The request could not be read.", { cause: error });
  return new ProblemError("internal-error", sentence, { cause: error });
}

/** Fastify carries an issue of the contract in its own shape; here it is put together again. */
function errorOfValidation(validation: ZodFastifySchemaValidationError): ErrorDetail {
  const { keyword, message, params, instancePath } = validation;
  const issue = { ...params, code: keyword, path: [], message } as unknown as z.core.$ZodIssue;
  // RFC 6901: the whole body is the empty pointer, "/" would be a field without a name.
  return { pointer: instancePath === "/" ? "" : instancePath, detail: sentenceOfIssue(issue) };
}

const sentence =
  "Something failed inside the service; nothing was changed. Try again, and if it stays, tell an administrator the request id.";
