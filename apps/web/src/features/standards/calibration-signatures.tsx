import {
  calibrationSignatureMeaningNames,
  type SignedCalibration,
  type Standard,
  signCalibration,
} from "@sealbook/contract/standards";
import { type FormEvent, useState } from "react";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { TextField } from "../../ui/text-field.tsx";

/** Who signed the record of a calibration, as what and when; whoever may and has not yet, signs here. */
export function CalibrationSignatures({
  standard,
  calibration,
}: {
  standard: Pick<Standard, "id" | "designation">;
  calibration: SignedCalibration;
}) {
  const { id } = useAccount();
  const mayManage = useMay("standard.manage");
  const [isSigning, setSigning] = useState(false);
  const { signatures } = calibration;
  const maySign =
    mayManage && calibration.supersededById === null && !signatures.some(({ person }) => person.id === id);
  return (
    <>
      {signatures.length === 0 ? <p className="quiet">Not signed yet.</p> : null}
      {signatures.map((signature) => (
        <p key={signature.id}>
          <strong>
            <PersonName person={signature.person} />
          </strong>
          , <LocalInstant instant={signature.signedAt} />.{" "}
          {calibrationSignatureMeaningNames[signature.meaning]}.{" "}
          <span className="quiet small">
            Hash of the entry signed: <code>{signature.recordHash.slice(0, 16)}…</code>
          </span>
        </p>
      ))}
      {maySign ? (
        <div>
          <Button onClick={() => setSigning(true)}>Sign this record</Button>
        </div>
      ) : null}
      {isSigning ? (
        <SignDialog standard={standard} calibration={calibration} onDone={() => setSigning(false)} />
      ) : null}
    </>
  );
}

function SignDialog({
  standard,
  calibration,
  onDone,
}: {
  standard: Pick<Standard, "id" | "designation">;
  calibration: SignedCalibration;
  onDone: () => void;
}) {
  const account = useAccount();
  const [password, setPassword] = useState("");
  const submission = useSubmission(signCalibration);
  const meaning = calibration.recordedBy?.id === account.id ? "recorded" : "reviewed";
  const sign = async (event: FormEvent) => {
    event.preventDefault();
    if (password === "") {
      submission.refuse([{ pointer: "/password", detail: "Type your password: it signs the record." }]);
      return;
    }
    const reply = await submission.submit({
      params: { id: standard.id, calibrationId: calibration.id },
      body: { password },
    });
    if (reply === null) setPassword("");
    else onDone();
  };
  return (
    <Dialog
      title={`Sign the calibration of ${standard.designation}, ${calibration.calibratedOn}`}
      onClose={onDone}
    >
      <form className="stack" onSubmit={sign}>
        <SubmissionSummary submission={submission} names={{ "/password": "Password" }} />
        <p>
          Your signature says: {calibrationSignatureMeaningNames[meaning]}. It stands under certificate{" "}
          {calibration.certificateNumber} with your name and the time.
        </p>
        <TextField
          label={`Password of ${account.name}`}
          type="password"
          autoComplete="current-password"
          id={fieldId("/password")}
          value={password}
          onChange={setPassword}
          error={submission.errorAt("/password")}
          maxLength={200}
          autoFocus
        />
        <div className="dialog-buttons">
          <Button onClick={onDone}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Sign
          </Button>
        </div>
      </form>
    </Dialog>
  );
}
