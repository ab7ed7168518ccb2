import type { TestRow } from "@sealbook/contract/meters";
import { testReasonNames } from "@sealbook/contract/work-items";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { RegistrationPercent } from "../../trade/registration-percent.tsx";
import { VerdictMark } from "../../trade/verdict-mark.tsx";

/** The meter's last test in a line, to compare with. */
export function LastTest({ test }: { test: TestRow | null }) {
  if (test === null) return <p className="quiet">This meter has no test on record yet.</p>;
  return (
    <p>
      Last test <Link to={paths.test(test.id)}>{test.performedOn}</Link>,{" "}
      {test.reasons.map((reason) => testReasonNames[reason]).join(", ")}: as found{" "}
      <VerdictMark verdict={test.asFound} />
      {test.fullLoadAsFound === null ? null : (
        <>
          {" "}
          · FL <RegistrationPercent value={test.fullLoadAsFound} /> · LL{" "}
          <RegistrationPercent value={test.lightLoadAsFound} /> · PF{" "}
          <RegistrationPercent value={test.powerFactorAsFound} /> · average{" "}
          <RegistrationPercent value={test.averageAsFound} />
        </>
      )}
    </p>
  );
}
