import { listPlaces } from "@sealbook/contract/places";
import { listProfiles } from "@sealbook/contract/profiles";
import { draftReport } from "@sealbook/contract/reports";
import { useSuspenseQuery } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";

const names = {
  "/title": "Title",
  "/periodFrom": "First day",
  "/periodTo": "Last day",
  "/profileId": "Rules",
  "/layoutProfileId": "Accuracy bands",
  "/placeId": "Place",
};

/** Begins a report: a period, whose rules, where the tests were performed. */
export function NewReportPage() {
  const { today, homeJurisdiction } = useShop();
  const navigate = useNavigate();
  const profiles = useSuspenseQuery(wholeListOptions(listProfiles, { query: {} })).data.rows.filter(
    ({ standing }) => standing === "in-force",
  );
  const places = useSuspenseQuery(wholeListOptions(listPlaces, { query: {} })).data.rows;
  const lastYear = String(Number(today.slice(0, 4)) - 1);
  const first = {
    title: `Meter tests of ${lastYear}`,
    periodFrom: `${lastYear}-01-01`,
    periodTo: `${lastYear}-12-31`,
    profileId: profiles.find(({ key }) => key === homeJurisdiction)?.id ?? "",
    layoutProfileId: "",
    placeId: "",
  };
  const [id] = useState(newId);
  const [form, setForm] = useState(first);
  const submission = useSubmission(draftReport);
  const { leaveDialog, release } = useLeaveGuard(JSON.stringify(form) !== JSON.stringify(first));
  const set = (changes: Partial<typeof form>) => setForm((now) => ({ ...now, ...changes }));
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: {
        kind: "first",
        id,
        title: form.title.trim(),
        periodFrom: form.periodFrom.trim(),
        periodTo: form.periodTo.trim(),
        profileId: form.profileId,
        layoutProfileId: form.layoutProfileId === "" ? null : form.layoutProfileId,
        placeId: form.placeId === "" ? null : form.placeId,
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.report(reply.id) });
  };
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader
        title="Make a report"
        note="A draft counts what is on record at the moment you look. Its figures are fixed when somebody else reviews them."
      />
      <SubmissionSummary submission={submission} names={names} />
      <div className="row-fields">
        <TextField
          label="Title"
          id={fieldId("/title")}
          value={form.title}
          onChange={(title) => set({ title })}
          error={submission.errorAt("/title")}
          maxLength={120}
        />
        <DateField
          label="First day"
          id={fieldId("/periodFrom")}
          value={form.periodFrom}
          onChange={(periodFrom) => set({ periodFrom })}
          error={submission.errorAt("/periodFrom")}
        />
        <DateField
          label="Last day"
          id={fieldId("/periodTo")}
          value={form.periodTo}
          onChange={(periodTo) => set({ periodTo })}
          error={submission.errorAt("/periodTo")}
        />
      </div>
      <div className="row-fields">
        <Select
          label="Rules"
          hint="Tests that were judged by this place’s rules."
          id={fieldId("/profileId")}
          value={form.profileId}
          onChange={(profileId) => set({ profileId })}
          placeholder="Choose the rules"
          options={profiles.map((profile) => ({
            value: profile.id,
            label: `${profile.title} (${profile.key})`,
          }))}
          error={submission.errorAt("/profileId")}
        />
        <Select
          label="Accuracy bands"
          hint="How tests are divided by their registration."
          id={fieldId("/layoutProfileId")}
          value={form.layoutProfileId}
          onChange={(layoutProfileId) => set({ layoutProfileId })}
          placeholder="The rules’ own, else the first that has any"
          options={profiles.map((profile) => ({ value: profile.id, label: `As in ${profile.title}` }))}
          error={submission.errorAt("/layoutProfileId")}
        />
        <Select
          label="Place"
          id={fieldId("/placeId")}
          value={form.placeId}
          onChange={(placeId) => set({ placeId })}
          placeholder="Every place"
          options={places.map((place) => ({ value: place.id, label: place.name }))}
          error={submission.errorAt("/placeId")}
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Counting" : "Draft the report"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
