import type { TestPlan } from "@sealbook/contract/test-plans";
import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import type { Source } from "../../platform/transaction.ts";
import { profileById } from "../profiles/profiles.ts";
import { planById } from "../test-plans/test-plans.ts";

/** A plan as it was put on record; whether a newer revision exists is asked of the database every time. */
export type PlanDocument = Omit<TestPlan, "current">;

/**
 * Plans and profiles never change once they are on record, so their parsed documents are kept by id. What is newest
 * is not kept.
 */
const plans = new Map<string, PlanDocument>();
const profiles = new Map<string, RuleProfile>();
const mostKept = 500;

/** A revision of a plan by its id, or null. */
export async function planDocument(source: Source, id: string): Promise<PlanDocument | null> {
  const kept = plans.get(id);
  if (kept !== undefined) return kept;
  const found = await planById(source, id);
  if (found === null) return null;
  const { current: _, ...plan } = found;
  return keep(plans, id, plan);
}

/** A version of a profile by its id, or null. */
export async function profileDocument(source: Source, id: string): Promise<RuleProfile | null> {
  const kept = profiles.get(id);
  if (kept !== undefined) return kept;
  const found = await profileById(source, id);
  return found === null ? null : keep(profiles, id, ruleProfileSchema.parse(JSON.parse(found.body)));
}

function keep<Value>(kept: Map<string, Value>, id: string, value: Value): Value {
  if (kept.size >= mostKept) kept.clear();
  kept.set(id, value);
  return value;
}
