import rateLimit from "@fastify/rate-limit";
import type { FastifyInstance, FastifyRequest } from "fastify";
import type { Config } from "../config.ts";
import { ProblemError } from "./problem-error.ts";

/** Refuses a request whose sender has had more than its share this minute. */
export type RateCheck = (request: FastifyRequest) => Promise<void>;

/**
 * Limits what one address and one person may ask for in a minute, so that one bench's loop does not take the service
 * from the others. Each process of the service counts by itself. Routes may have a limit of their own.
 *
 * @returns the check of a person, to be run once the session is known; that of an address runs before everything else
 */
export async function limitRates(
  app: FastifyInstance,
  config: Pick<Config, "REQUESTS_PER_MINUTE" | "REQUESTS_PER_MINUTE_OF_A_PERSON">,
): Promise<RateCheck> {
  await app.register(rateLimit, { global: false, keyGenerator: addressOf });
  const check = (
    max: number,
    keyGenerator: (request: FastifyRequest) => string,
    sentence: string,
  ): RateCheck => {
    const limit = app.createRateLimit({ max, timeWindow: "1 minute", keyGenerator });
    return async (request) => {
      const found = await limit(request);
      if (found.isAllowed || !found.isExceeded) return;
      throw new ProblemError("too-many-requests", `${sentence} Go on in ${found.ttlInSeconds} seconds.`, {
        retryAfterSeconds: found.ttlInSeconds,
      });
    };
  };
  const address = check(
    config.REQUESTS_PER_MINUTE,
    addressOf,
    "More requests came from your address within a minute than the service takes.",
  );
  app.addHook("onRequest", async (request) => {
    if (request.routeOptions.config.isProbe !== true) await address(request);
  });
  const person = check(
    config.REQUESTS_PER_MINUTE_OF_A_PERSON,
    ({ session }) => session?.actor.id ?? "",
    "More requests came under your name within a minute than the service takes.",
  );
  return async (request) => {
    if (request.session !== null) await person(request);
  };
}

/** A client that has hung up already has no address any more. */
function addressOf(request: FastifyRequest): string {
  return request.ip ?? "gone";
}
