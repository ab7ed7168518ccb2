import type { TestPlanBody } from "@sealbook/contract/test-plans";
import { Decimal } from "@sealbook/metrology/decimal";
import type { ReportedPass, ReportedTest } from "@sealbook/metrology/reports/reported-test";
import type { RecordedTest } from "./recorded-test.ts";

/** What a lot needs of a test. */
export type LotTest = Pick<ReportedTest, "meterId" | "untestableReason"> & {
  /** Null where no entry of the log says who tested. */
  readonly testerId: string | null;
  readonly asFound: Omit<ReportedPass, "outside" | "creeps"> | null;
};

/** A test as a lot counts it, from the entry that recorded it: of a load that a plan has twice the greater registration. */
export function lotTestOf(recorded: RecordedTest, plan: TestPlanBody): LotTest {
  const { outcome } = recorded.entered;
  const roles = new Map<string, string>(plan.points.map(({ key, role }) => [key, role]));
  const greatest = (wanted: string) => {
    const found = recorded.points
      .filter(({ pass, pointKey }) => pass === "as-found" && roles.get(pointKey) === wanted)
      .map(({ registrationPercent }) => new Decimal(registrationPercent));
    return found.length === 0 ? null : Decimal.max(...found).toFixed();
  };
  const verdict = recorded.verdictAsFound;
  return {
    meterId: recorded.meterId,
    testerId: recorded.testerId,
    untestableReason: outcome.kind === "no-test-possible" ? outcome.reason : null,
    asFound:
      outcome.kind === "tested" && (verdict === "pass" || verdict === "fail" || verdict === "incomplete")
        ? {
            verdict,
            fullLoad: greatest("full-load"),
            lightLoad: greatest("light-load"),
            powerFactor: greatest("power-factor"),
            average: recorded.averageAsFound,
          }
        : null,
  };
}
