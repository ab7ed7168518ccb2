import {
  type Calibration,
  listStandards,
  recordCalibration,
  type Standard,
  signConventionNames,
  signConventions,
} from "@sealbook/contract/standards";
import { useQuery } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { KeptFilesField } from "../../trade/kept-files-field.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { RadioGroup } from "../../ui/radio-group.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { blankCalibration, calibrationBody, draftOfCalibration, pointsToFill } from "./calibration-draft.ts";
import { CertificatePointsField } from "./certificate-points-field.tsx";

const names = {
  "/calibratedOn": "Calibrated on",
  "/dueOn": "Due on",
  "/certificateNumber": "Certificate number",
  "/laboratory": "Laboratory",
  "/performedBy": "Calibrated by",
  "/traceability": "Traceability",
  "/againstStandardId": "Our standard above it",
  "/signConvention": "How the certificate states its figures",
  "/points": "Points",
  "/points/#": "Point",
  "/points/#/amperes": "Amperes",
  "/points/#/volts": "Volts",
  "/points/#/powerFactor": "Power factor",
  "/points/#/powerFactorSense": "Sense",
  "/points/#/printedPercent": "Figure as printed",
  "/points/#/expandedUncertaintyPercent": "Expanded uncertainty",
  "/points/#/coverageFactor": "Coverage factor",
  "/fileId": "Certificate file",
  "/amendmentReason": "Reason for the correction",
};

/** Records what a certificate says; with `corrects` it supersedes an earlier record, with a reason. */
export function RecordCalibration({
  standard,
  corrects,
  earlier,
  onDone,
}: {
  standard: Standard;
  corrects: Calibration | null;
  /** The calibration before, whose loads the new certificate most likely has too. */
  earlier: Calibration | undefined;
  onDone: () => void;
}) {
  const [id] = useState(newId);
  const [blank] = useState(() =>
    corrects === null ? blankCalibration(newId()) : draftOfCalibration(corrects, newId),
  );
  const [draft, setDraft] = useState(blank);
  const standards = useQuery(wholeListOptions(listStandards, { query: {} }));
  const submission = useSubmission(recordCalibration, { touches: ["meterTests"] });
  const { leaveDialog, release } = useLeaveGuard(draft !== blank);
  const change = (changes: Partial<typeof draft>) => setDraft((now) => ({ ...now, ...changes }));
  const { errorAt } = submission;

  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      params: { id: standard.id },
      body: calibrationBody(draft, id, corrects?.id ?? null),
    });
    if (reply === null) return;
    release();
    onDone();
  };

  return (
    <form className="stack" onSubmit={save}>
      {submission.problem?.slug === "already-amended" ? (
        <Notice tone="warn" title="Someone corrected this record first; yours was not saved" isAnnounced>
          <p>{submission.problem.detail} What you typed stays here until you leave.</p>
        </Notice>
      ) : (
        <SubmissionSummary submission={submission} names={names} />
      )}
      {corrects === null ? null : (
        <TextArea
          label="Reason for the correction"
          hint={`It supersedes the record of certificate ${corrects.certificateNumber}, which stays readable.`}
          id={fieldId("/amendmentReason")}
          value={draft.amendmentReason}
          onChange={(amendmentReason) => change({ amendmentReason })}
          error={errorAt("/amendmentReason")}
          rows={2}
          maxLength={500}
        />
      )}
      <div className="row-fields">
        <DateField
          label="Calibrated on"
          id={fieldId("/calibratedOn")}
          value={draft.calibratedOn}
          onChange={(calibratedOn) => change({ calibratedOn })}
          error={errorAt("/calibratedOn")}
          autoFocus={corrects === null}
        />
        <DateField
          label="Due on"
          id={fieldId("/dueOn")}
          value={draft.dueOn}
          onChange={(dueOn) => change({ dueOn })}
          error={errorAt("/dueOn")}
        />
        <TextField
          label="Certificate number"
          id={fieldId("/certificateNumber")}
          value={draft.certificateNumber}
          onChange={(certificateNumber) => change({ certificateNumber })}
          error={errorAt("/certificateNumber")}
          maxLength={80}
        />
        <TextField
          label="Laboratory"
          id={fieldId("/laboratory")}
          value={draft.laboratory}
          onChange={(laboratory) => change({ laboratory })}
          error={errorAt("/laboratory")}
          maxLength={120}
        />
        <TextField
          label="Calibrated by"
          hint="As the certificate names them"
          id={fieldId("/performedBy")}
          value={draft.performedBy}
          onChange={(performedBy) => change({ performedBy })}
          error={errorAt("/performedBy")}
          maxLength={120}
        />
        <Select
          label="Our standard above it"
          hint="Only for a calibration in house"
          optional
          id={fieldId("/againstStandardId")}
          value={draft.againstStandardId}
          onChange={(againstStandardId) => change({ againstStandardId })}
          placeholder="None: an outside laboratory"
          options={(standards.data?.rows ?? [])
            .filter((one) => one.id !== standard.id && !one.withdrawn)
            .map((one) => ({ value: one.id, label: `${one.designation}, ${one.maker} ${one.model}` }))}
          error={errorAt("/againstStandardId") ?? standards.error?.message}
        />
      </div>
      <TextArea
        label="Traceability"
        hint="What the laboratory’s own standards trace to, as the certificate says"
        id={fieldId("/traceability")}
        value={draft.traceability}
        onChange={(traceability) => change({ traceability })}
        error={errorAt("/traceability")}
        rows={2}
        maxLength={400}
      />
      <RadioGroup
        label="How does the certificate state its figures?"
        hint="Read it on the certificate; the same figure means opposite things as an error and as a correction."
        id={fieldId("/signConvention")}
        value={draft.signConvention}
        onChange={(signConvention) => change({ signConvention })}
        options={signConventions.map((convention) => ({
          value: convention,
          label: signConventionNames[convention],
        }))}
        error={errorAt("/signConvention")}
      />
      {corrects !== null || earlier === undefined || draft.points !== blank.points ? null : (
        <div>
          <Button
            onClick={() => {
              change({ points: pointsToFill(earlier, newId) });
              // The lines are there after the next drawing; the keyboard goes on at the first figure.
              setTimeout(() => document.getElementById(fieldId("/points/0/printedPercent"))?.focus());
            }}
          >
            Take the loads and uncertainties of certificate {earlier.certificateNumber}
          </Button>
        </div>
      )}
      <CertificatePointsField
        points={draft.points}
        convention={draft.signConvention}
        onChange={(points) => change({ points })}
        errorAt={errorAt}
      />
      <KeptFilesField
        label="Certificate file"
        hint="PDF, or a picture of each page in one file"
        id={fieldId("/fileId")}
        isSingle
        files={draft.file === null ? [] : [draft.file]}
        onAdd={(file) => change({ file })}
        onRemove={() => change({ file: null })}
        error={errorAt("/fileId")}
      />
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending
            ? "Recording"
            : corrects === null
              ? "Record the calibration"
              : "Record the correction"}
        </Button>
        <Button
          kind="quiet"
          onClick={() => {
            release();
            onDone();
          }}
        >
          Leave without recording
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
