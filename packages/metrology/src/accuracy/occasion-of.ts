import type { Occasion } from "./test-terms.ts";

/** Why a meter is tested. */
export type TestReason =
  | "new-shipment"
  | "before-installation"
  | "in-service-sample"
  | "periodic"
  | "customer-request"
  | "referee"
  | "removal"
  | "investigation"
  | "after-repair"
  | "check-of-standard";

const occasionOfReason: Record<TestReason, Occasion> = {
  "new-shipment": "new",
  "before-installation": "new",
  "in-service-sample": "in-service",
  periodic: "in-service",
  "customer-request": "request",
  referee: "request",
  removal: "in-service",
  investigation: "in-service",
  "after-repair": "as-left",
  "check-of-standard": "in-service",
};

/** What a test answers first when it answers several questions at once. */
const precedence: readonly Occasion[] = ["request", "in-service", "as-left", "new"];

/**
 * The occasion whose limits hold for the as-found pass of a test. A test with several reasons is judged as the most
 * binding of them: a request or referee test decides about a bill, then comes what the meter did in service, then the
 * work done on it, and last its fitness as a new meter. The as-left pass is always judged as "as-left".
 *
 * @param reasons  n >= 1 reasons, any order
 * @throws RangeError if there is no reason
 * @source which reason stands under which limits, and their order: common practice, no source
 * @example occasionOf(["periodic", "customer-request"]) // "request"
 */
export function occasionOf(reasons: readonly TestReason[]): Occasion {
  const occasions = new Set(reasons.map((reason) => occasionOfReason[reason]));
  const first = precedence.find((occasion) => occasions.has(occasion));
  if (first === undefined) {
    throw new RangeError("a test has at least one reason");
  }
  return first;
}
