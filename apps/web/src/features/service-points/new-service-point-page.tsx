import { listProfiles } from "@sealbook/contract/profiles";
import { createServicePoint } from "@sealbook/contract/service-points";
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
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";

const names = {
  "/number": "Number",
  "/address": "Address",
  "/area": "Area",
  "/jurisdiction": "Rules of",
};

/** Adds a service point. */
export function NewServicePointPage() {
  const navigate = useNavigate();
  const { homeJurisdiction } = useShop();
  const profiles = useSuspenseQuery(wholeListOptions(listProfiles, { query: {} })).data.rows;
  const first = { number: "", address: "", area: "", jurisdiction: homeJurisdiction };
  const [id] = useState(newId);
  const [form, setForm] = useState(first);
  const submission = useSubmission(createServicePoint);
  const { leaveDialog, release } = useLeaveGuard(JSON.stringify(form) !== JSON.stringify(first));
  const set = (changes: Partial<typeof form>) => setForm((now) => ({ ...now, ...changes }));
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const reply = await submission.submit({
      body: {
        id,
        number: form.number.trim(),
        address: form.address.trim(),
        area: form.area.trim(),
        jurisdiction: form.jurisdiction,
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.servicePoints(), search: { q: reply.number } });
  };
  return (
    <form className="stack" onSubmit={save}>
      <PageHeader title="Add a service point" />
      <SubmissionSummary submission={submission} names={names} />
      <div className="row-fields">
        <TextField
          label="Number"
          id={fieldId("/number")}
          value={form.number}
          onChange={(number) => set({ number })}
          error={submission.errorAt("/number")}
          maxLength={40}
          autoFocus
        />
        <TextField
          label="Address"
          id={fieldId("/address")}
          value={form.address}
          onChange={(address) => set({ address })}
          error={submission.errorAt("/address")}
          maxLength={200}
        />
        <TextField
          label="Area"
          id={fieldId("/area")}
          value={form.area}
          onChange={(area) => set({ area })}
          error={submission.errorAt("/area")}
          maxLength={80}
        />
        <Select
          label="Rules of"
          hint="The rule profile of its jurisdiction"
          id={fieldId("/jurisdiction")}
          value={form.jurisdiction}
          onChange={(jurisdiction) => set({ jurisdiction })}
          options={profiles.map((profile) => ({
            value: profile.key,
            label: `${profile.key}: ${profile.place}`,
          }))}
          error={submission.errorAt("/jurisdiction")}
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Adding" : "Add the service point"}
        </Button>
      </div>
      {leaveDialog}
    </form>
  );
}
