import { createProgramme } from "@sealbook/contract/groups";
import { listSchemes } from "@sealbook/contract/sampling-schemes";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link, useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { newSeedDraft, seedTermsOf } from "../../trade/lots/seed-terms.ts";
import { SeedTermsFields } from "../../trade/lots/seed-terms-fields.tsx";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { DateField } from "../../ui/date-field.tsx";
import { Empty } from "../../ui/empty.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { GroupPreview } from "./group-preview.tsx";

const names = {
  "/year": "Year",
  "/name": "Name",
  "/schemeId": "Sampling scheme",
  "/dueOn": "Results due",
  "/seed/source": "Where the seed will come from",
  "/seed/announcement": "The number, named beforehand",
  "/seed/notBefore": "Not before",
};

/** Begins a year's programme: shows the groups that a scheme forms, then forms, plans and lists them in one job. */
export function NewProgrammePage() {
  const { today, timeZone } = useShop();
  const navigate = useNavigate();
  const schemes = useSuspenseQuery(wholeListOptions(listSchemes, { query: { purpose: "in-service" } })).data
    .rows;
  const thisYear = today.slice(0, 4);
  const first = {
    year: thisYear,
    name: `Groups in service ${thisYear}`,
    schemeId: schemes.length === 1 ? (schemes[0]?.id ?? "") : "",
    dueOn: `${thisYear}-12-31`,
  };
  const [id] = useState(newId);
  const [form, setForm] = useState(first);
  const [seedDraft, setSeedDraft] = useState(newSeedDraft);
  const submission = useSubmission(createProgramme, { touches: ["sampling"] });
  const { leaveDialog, release } = useLeaveGuard(
    JSON.stringify(form) !== JSON.stringify(first) || seedDraft !== newSeedDraft,
  );
  const set = (changes: Partial<typeof form>) => setForm((now) => ({ ...now, ...changes }));
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const seed = seedTermsOf(seedDraft, timeZone);
    if ("error" in seed) {
      submission.refuse([seed.error]);
      return;
    }
    const reply = await submission.submit({
      body: {
        id,
        year: /^\d{4}$/.test(form.year.trim()) ? Number(form.year) : Number.NaN,
        name: form.name.trim(),
        schemeId: form.schemeId,
        seed: seed.terms,
        dueOn: form.dueOn.trim(),
      },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.programme(reply.id) });
  };
  if (schemes.length === 0) {
    return (
      <div className="stack">
        <PageHeader title="Begin a programme" />
        <Empty title="No sampling scheme for groups in service is on record.">
          <Link to={paths.schemes()}>Put one on record</Link> first: it says how groups are formed, and what
          is judged.
        </Empty>
      </div>
    );
  }
  return (
    <div className="stack">
      <form className="stack" onSubmit={save}>
        <PageHeader
          title="Begin a programme"
          note="All groups of a year are formed from the inventory, planned and listed in one job."
        />
        <SubmissionSummary submission={submission} names={names} />
        <div className="row-fields">
          <Select
            label="Sampling scheme"
            id={fieldId("/schemeId")}
            value={form.schemeId}
            onChange={(schemeId) => set({ schemeId })}
            placeholder="Choose the scheme"
            options={schemes.map((scheme) => ({ value: scheme.id, label: `${scheme.code}: ${scheme.name}` }))}
            error={submission.errorAt("/schemeId")}
          />
          <TextField
            label="Year"
            inputMode="numeric"
            id={fieldId("/year")}
            value={form.year}
            onChange={(year) => set({ year })}
            error={submission.errorAt("/year")}
            maxLength={4}
          />
          <TextField
            label="Name"
            id={fieldId("/name")}
            value={form.name}
            onChange={(name) => set({ name })}
            error={submission.errorAt("/name")}
            maxLength={120}
          />
          <DateField
            label="Results due"
            id={fieldId("/dueOn")}
            value={form.dueOn}
            onChange={(dueOn) => set({ dueOn })}
            error={submission.errorAt("/dueOn")}
          />
        </div>
        <SeedTermsFields
          draft={seedDraft}
          onChange={(changes) => setSeedDraft((now) => ({ ...now, ...changes }))}
          errorAt={submission.errorAt}
        />
        <div>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            {submission.pending ? "Beginning" : "Form the groups"}
          </Button>
        </div>
        {leaveDialog}
      </form>
      <Panel title="The groups as they would be formed today">
        {form.schemeId === "" ? (
          <Empty title="Choose a scheme to see them." />
        ) : (
          <GroupPreview key={form.schemeId} schemeId={form.schemeId} />
        )}
      </Panel>
    </div>
  );
}
