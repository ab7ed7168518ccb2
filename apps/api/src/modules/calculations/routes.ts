import { calculate, calculations } from "@sealbook/contract/calc";
import { calculationOperations, listCalculations } from "@sealbook/contract/calculations";
import type { FastifyInstance } from "fastify";
import { refusedByRule } from "../../platform/problem-error.ts";
import { serveRead } from "../../platform/serve.ts";

/** The same table that the command line offers; there is nothing to store, so there is no use case in between. */
export async function calculationsRoutes(app: FastifyInstance): Promise<void> {
  serveRead(app, listCalculations, async () => ({
    rows: calculations.map(({ name, summary, source }) => ({ name, summary, source })),
  }));
  calculations.forEach((calculation, index) => {
    const operation = calculationOperations[index];
    if (operation === undefined) throw new Error("every calculation has its operation");
    serveRead(app, operation, async ({ body }) => {
      const outcome = calculate(calculation, body);
      if ("error" in outcome) throw refusedByRule("/", String(outcome.error));
      return outcome as never;
    });
  });
}
