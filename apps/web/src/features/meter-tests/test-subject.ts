import type { TestPreparation } from "@sealbook/contract/meter-tests";
import type { MeterType } from "@sealbook/contract/meter-types";
import type { JudgingRules } from "@sealbook/contract/profiles";
import type { TestPlan } from "@sealbook/contract/test-plans";
import type { WorkItem } from "@sealbook/contract/work-items";
import type { Nameplate } from "@sealbook/metrology/accuracy/pass-input";

/** What a test is about and judged by, beside what is typed: the same for a new test and for an amendment. */
export interface TestSubject {
  meterId: string;
  nameplate: Nameplate & Pick<MeterType, "registerDials" | "registerMultiplier">;
  plan: TestPlan;
  rules: JudgingRules;
  standards: TestPreparation["standards"];
  openWork: readonly WorkItem[];
}
