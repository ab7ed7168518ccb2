import underPressure from "@fastify/under-pressure";
import type { Operation } from "@sealbook/contract/operation";
import type { FastifyInstance, FastifyRequest } from "fastify";
import type { Config } from "../config.ts";
import { ProblemError } from "./problem-error.ts";

/**
 * How much of the service's strength a kind of request may find in use before it is refused: documents, exports and
 * uploads go first, reading after them, and what records something last.
 */
const shares = { bulk: 0.5, read: 0.8, record: 1 } as const;

const sentences = {
  bulk: "The service is busy, and tests are recorded before documents are made. Try again in a few seconds.",
  read: "The service is busy at this moment. Try again in a few seconds.",
  record:
    "The service is busy at this moment; nothing was changed. What you typed is kept: try again in a few seconds.",
} as const;

export interface BackPressure {
  /** Requests that are under way now. */
  readonly underWay: number;
}

/**
 * Refuses requests with 503 and Retry-After before the service collapses under them: when too many are under way, or
 * when its event loop falls behind. The least urgent are refused first.
 */
export async function relievePressure(
  app: FastifyInstance,
  config: Pick<Config, "REQUESTS_AT_ONCE" | "EVENT_LOOP_DELAY_MILLISECONDS">,
): Promise<BackPressure> {
  let underWay = 0;
  app.addHook("onRequest", async (request, reply) => {
    if (isProbe(request)) return;
    underWay += 1;
    reply.raw.once("close", () => {
      underWay -= 1;
    });
    const kind = kindOf(request);
    if (underWay > config.REQUESTS_AT_ONCE * shares[kind])
      throw new ProblemError("unavailable", sentences[kind]);
  });
  await app.register(underPressure, {
    maxEventLoopDelay: config.EVENT_LOOP_DELAY_MILLISECONDS * shares.bulk,
    pressureHandler(request, _reply, _type, milliseconds) {
      // Not finite: the loop stood still for a whole sample, which is past as soon as this runs.
      if (isProbe(request) || milliseconds === undefined || !Number.isFinite(milliseconds)) return;
      const kind = kindOf(request);
      if (milliseconds > config.EVENT_LOOP_DELAY_MILLISECONDS * shares[kind]) {
        throw new ProblemError("unavailable", sentences[kind]);
      }
    },
  });
  return {
    get underWay() {
      return underWay;
    },
  };
}

/** Probes and metrics are asked most when the service is in trouble: they are always answered. */
function isProbe({ routeOptions }: FastifyRequest): boolean {
  return routeOptions.config.isProbe === true;
}

function kindOf({ routeOptions }: FastifyRequest): keyof typeof shares {
  const { operation } = routeOptions.config;
  return operation === undefined ? "read" : kindOfOperation(operation);
}

export function kindOfOperation({ method, reply, upload }: Operation): keyof typeof shares {
  if (upload === true || (method === "GET" && reply === "file")) return "bulk";
  return method === "GET" ? "read" : "record";
}
