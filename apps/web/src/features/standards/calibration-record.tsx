import "./calibration-record.css";
import { type SignedCalibration, type Standard, signConventionNames } from "@sealbook/contract/standards";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { StoredFileLink } from "../../trade/stored-file-link.tsx";
import { AlignedDecimal } from "../../ui/aligned-decimal.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { mostPlaces } from "../../ui/most-places.ts";
import { Notice } from "../../ui/notice.tsx";
import { CalibrationSignatures } from "./calibration-signatures.tsx";

/** One calibration: who, where, to what it traces, and its points as printed and as converted. */
export function CalibrationRecord({
  standard,
  calibration,
  isOpen,
}: {
  standard: Pick<Standard, "id" | "designation">;
  calibration: SignedCalibration;
  /** Whether the points are shown at once. */
  isOpen: boolean;
}) {
  const printedPlaces = mostPlaces(calibration.printedPoints.map(({ printedPercent }) => printedPercent));
  const places = mostPlaces(calibration.points.map(({ registrationPercent }) => registrationPercent));
  const amperePlaces = mostPlaces(calibration.points.map(({ amperes }) => amperes));
  const lines = calibration.points.map((point, index) => ({
    point,
    printed: calibration.printedPoints[index],
    index,
  }));
  return (
    <div className="stack-tight">
      {calibration.supersededById === null ? null : (
        <Notice tone="warn">
          <p>A later record corrects this one. Tests that were judged by it keep it.</p>
        </Notice>
      )}
      {calibration.supersedesId === null ? null : (
        <Notice>
          <p>It corrects an earlier record. Reason: {calibration.amendmentReason}</p>
        </Notice>
      )}
      <DefinitionList
        items={[
          { term: "Calibrated on", value: calibration.calibratedOn },
          { term: "Due on", value: calibration.dueOn },
          {
            term: "Certificate",
            value:
              calibration.certificate === null ? (
                `${calibration.certificateNumber}, no file kept`
              ) : (
                <>
                  {calibration.certificateNumber}, <StoredFileLink file={calibration.certificate} />
                </>
              ),
          },
          { term: "Laboratory", value: calibration.laboratory },
          { term: "Calibrated by", value: calibration.performedBy },
          { term: "Traceability", value: calibration.traceability },
          {
            term: "Our standard above it",
            value:
              calibration.againstStandard === null ? (
                "none, outside laboratory"
              ) : (
                <Link to={paths.standard(calibration.againstStandard.id)}>
                  {calibration.againstStandard.designation}
                </Link>
              ),
          },
          {
            term: "Recorded",
            value: (
              <>
                <LocalInstant instant={calibration.recordedAt} /> by{" "}
                <PersonName person={calibration.recordedBy} />,{" "}
                <Link to={paths.ledgerEntry(calibration.entryId)}>ledger entry</Link>
              </>
            ),
          },
          { term: "Figures as printed", value: signConventionNames[calibration.signConvention] },
        ]}
      />
      <CalibrationSignatures standard={standard} calibration={calibration} />
      <details className="calibration-points" open={isOpen}>
        <summary>{lines.length} certified points</summary>
        <DataTable
          caption={`Certified points of certificate ${calibration.certificateNumber}`}
          rows={lines}
          rowKey={({ index }) => String(index)}
          columns={[
            {
              heading: "Amperes",
              isNumeric: true,
              isRowHeader: true,
              cell: ({ point }) => <AlignedDecimal text={point.amperes} places={amperePlaces} />,
            },
            { heading: "Volts", isNumeric: true, cell: ({ point }) => point.volts },
            {
              heading: "Power factor",
              cell: ({ point }) =>
                `${point.powerFactor}${point.powerFactorSense === "unity" ? "" : ` ${point.powerFactorSense}`}`,
            },
            { heading: "Quantity", cell: ({ point }) => point.quantity },
            {
              heading: "As printed, %",
              isNumeric: true,
              cell: ({ printed }) => (
                <AlignedDecimal text={printed?.printedPercent ?? "–"} places={printedPlaces} />
              ),
            },
            {
              heading: "Standard registers, %",
              isNumeric: true,
              cell: ({ point }) => <AlignedDecimal text={point.registrationPercent} places={places} />,
            },
            {
              heading: "Expanded U, %",
              isNumeric: true,
              cell: ({ point }) => `${point.expandedUncertaintyPercent} (k = ${point.coverageFactor})`,
            },
          ]}
        />
      </details>
    </div>
  );
}
