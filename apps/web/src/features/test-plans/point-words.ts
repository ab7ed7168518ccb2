import type { TestPlanBody } from "@sealbook/contract/test-plans";

export type PlanPoint = TestPlanBody["points"][number];

export const pointRoleNames: Record<PlanPoint["role"], string> = {
  "full-load": "Full load",
  "light-load": "Light load",
  "power-factor": "Power factor",
  none: "None: kept out of averages",
};

const senseNames: Record<PlanPoint["powerFactorSense"], string> = {
  unity: "unity",
  lagging: "lagging",
  leading: "leading",
};

export const directionNames: Record<PlanPoint["direction"], string> = {
  delivered: "Delivered",
  received: "Received",
};

/** "0.5 lagging", or "1". */
export function powerFactorWords(point: Pick<PlanPoint, "powerFactor" | "powerFactorSense">): string {
  return point.powerFactorSense === "unity"
    ? point.powerFactor
    : `${point.powerFactor} ${senseNames[point.powerFactorSense]}`;
}

export const conditionNames: Record<TestPlanBody["conditions"][number], string> = {
  volts: "actual volts",
  amperes: "actual amperes",
  temperature: "temperature",
};
