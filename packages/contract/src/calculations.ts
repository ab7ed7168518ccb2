import { z } from "zod";
import { calculations } from "./calc.ts";
import { type Operation, operation } from "./operation.ts";

/** The calculations of calc.ts as operations, one each, so that anybody signed in can recompute anything. */
export const calculationOperations: readonly Operation[] = calculations.map((calculation) =>
  operation({
    id: `calculations.${calculation.name}`,
    summary: `${calculation.summary} Source: ${calculation.source}`,
    method: "POST",
    path: `/calc/${calculation.name}`,
    permission: "calculation.run",
    body: calculation.input,
    reply: calculation.output,
    problems: ["refused-by-rule"],
  }),
);

export const listCalculations = operation({
  id: "calculations.list",
  summary: "Names of all calculations and what each does",
  method: "GET",
  path: "/calc",
  permission: "calculation.run",
  reply: z.object({ rows: z.array(z.object({ name: z.string(), summary: z.string(), source: z.string() })) }),
});
