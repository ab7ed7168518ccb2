import type { MeterTest } from "@sealbook/contract/meter-tests";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { StoredFileLink } from "../../trade/stored-file-link.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";

/** The standard that a test leaned on, its calibration and what that traces to. */
export function RecordedStandard({
  test,
  standardInUse,
}: {
  test: Pick<MeterTest, "calibration" | "errorAppliedByBench">;
  standardInUse: NonNullable<MeterTest["standardInUse"]>;
}) {
  const { calibration, errorAppliedByBench } = test;
  return (
    <DefinitionList
      items={[
        {
          term: "Standard",
          value: <Link to={paths.standard(standardInUse.id)}>{standardInUse.designation}</Link>,
        },
        {
          term: "Maker, model, serial",
          value: `${standardInUse.maker} ${standardInUse.model}, ${standardInUse.serial}`,
        },
        {
          term: "Rank",
          value: standardInUse.rank === "reference" ? "Reference standard" : "Working standard",
        },
        {
          term: "Its certified error",
          value:
            errorAppliedByBench === true
              ? "applied by the bench already"
              : "applied here, where a certified point fits",
        },
        ...(calibration === null
          ? []
          : [
              {
                term: "Certificate",
                value:
                  calibration.certificate === null ? (
                    calibration.certificateNumber
                  ) : (
                    <>
                      {calibration.certificateNumber}, <StoredFileLink file={calibration.certificate} />
                    </>
                  ),
              },
              { term: "Laboratory", value: calibration.laboratory },
              { term: "Calibrated by", value: calibration.performedBy },
              { term: "Calibrated on", value: calibration.calibratedOn },
              { term: "Due on", value: calibration.dueOn },
              {
                term: "Traceability",
                value:
                  calibration.againstStandard === null
                    ? calibration.traceability
                    : `${calibration.traceability} (against our ${calibration.againstStandard.designation})`,
              },
            ]),
      ]}
    />
  );
}
