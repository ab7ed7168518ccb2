import "./profile-page.css";
import { getProfile, longestProfile, proposeProfile } from "@sealbook/contract/profiles";
import { useSuspenseQuery } from "@tanstack/react-query";
import { useNavigate, useSearch } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { FileField } from "../../ui/file-field.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { fieldWords } from "./profile-words.ts";
import { readProfile } from "./read-profile.ts";

/** Puts a version of a rule profile on record, from a file or from the version before. */
export function ProposeProfilePage() {
  const { from } = useSearch({ strict: false }) as { from?: string };
  return from === undefined ? <ProposeProfileForm first="" /> : <NextVersion from={from} />;
}

function NextVersion({ from }: { from: string }) {
  const { data } = useSuspenseQuery(operationOptions(getProfile, { params: { id: from } }));
  const profile = readProfile(data.body);
  return (
    <ProposeProfileForm
      first={
        profile === null
          ? data.body
          : JSON.stringify({ ...profile, version: String(Number(profile.version) + 1) }, null, 2)
      }
    />
  );
}

function ProposeProfileForm({ first }: { first: string }) {
  const navigate = useNavigate();
  const [id] = useState(newId);
  const [document, setDocument] = useState(first);
  const [reason, setReason] = useState("");
  const submission = useSubmission(proposeProfile);
  const { leaveDialog, release } = useLeaveGuard(document !== first || reason !== "");
  const take = async (files: readonly File[]) => {
    const [file] = files;
    if (file === undefined) return;
    if (file.size > longestProfile) {
      submission.refuse([{ pointer: "/document", detail: "The file is longer than a profile can be." }]);
      return;
    }
    setDocument(await file.text());
    submission.clear();
  };
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({ body: { id, document, reason: reason.trim() } });
    if (reply === null) return;
    release();
    await navigate({ to: paths.rule(reply.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader
        title="Propose a version of the rules"
        note="It goes on record as it stands and judges no test until another person has approved it. Cite every figure; what the text does not say stays absent."
      />
      <Notice tone="warn" title="Verify against the current text; local rules govern." />
      <SubmissionSummary submission={submission} names={namesOf(submission.errors)} />
      <FileField
        label="From a file"
        optional
        hint="A profile as JSON, such as another shop handed on"
        accept=".json,application/json"
        onChoose={(files) => void take(files)}
      />
      <div className="profile-document">
        <TextArea
          label="Profile"
          hint="JSON, as the version before it shows under “The whole profile as stored”"
          id={fieldId("/document")}
          value={document}
          onChange={setDocument}
          error={submission.errorAt("/document")}
          rows={24}
          maxLength={longestProfile}
        />
      </div>
      <TextArea
        label="Reason"
        hint="What this version changes, and why"
        id={fieldId("/reason")}
        value={reason}
        onChange={setReason}
        error={submission.errorAt("/reason")}
        rows={2}
        maxLength={500}
      />
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Recording" : "Put the proposal on record"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}

/** Names for the places of a document: "/document/limits/0/limits" is "Limits · 1 · limits". */
function namesOf(errors: readonly { pointer: string }[]): Record<string, string> {
  const names: Record<string, string> = { "/document": "Profile", "/reason": "Reason" };
  for (const { pointer } of errors) {
    if (!pointer.startsWith("/document/")) continue;
    const steps = pointer.slice("/document/".length).split("/");
    names[pointer] = steps
      .map((step) => (/^\d+$/.test(step) ? `line ${Number(step) + 1}` : fieldWords(step)))
      .join(" · ");
  }
  return names;
}
