import type { ProblemError } from "@sealbook/contract/problems";
import { pointerStep } from "./pointer-step.ts";

/** The columns of a mapping that mean the same as another one. */
export function columnErrors(columns: Readonly<Record<string, string>>): ProblemError[] {
  const fields = Object.values(columns);
  return Object.entries(columns)
    .filter(([, field]) => fields.filter((other) => other === field).length > 1)
    .map(([heading, field]) => ({
      pointer: `/body/columns/${pointerStep(heading)}`,
      detail: `Two columns mean ${field}; let one of them.`,
    }));
}
