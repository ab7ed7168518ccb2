import "./shop-page.css";
import { changeShop, getAveraging, getShop, type Shop, shopSchema } from "@sealbook/contract/people";
import { may } from "@sealbook/contract/permissions";
import { useQuery, useQueryClient } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { useSubmission } from "../../api/use-submission.ts";
import type { ClashLine } from "../../trade/clash-notice.tsx";
import { EditSummary } from "../../trade/edit-summary.tsx";
import { EntriesLink } from "../../trade/entries-link.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { useVersionedForm } from "../../trade/use-versioned-form.ts";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Select } from "../../ui/select.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { TextField } from "../../ui/text-field.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { Waiting } from "../../ui/waiting.tsx";

type Averaging = Awaited<ReturnType<NonNullable<(typeof averagingOptions)["queryFn"]>>>;

const shopOptions = operationOptions(getShop, {});
const averagingOptions = operationOptions(getAveraging, {});

const names = {
  "/name": "Name",
  "/timeZone": "Time zone",
  "/homeJurisdiction": "Home jurisdiction",
  "/reason": "Reason",
};

/** The shop's own settings: what it is called, whose time it keeps, and what the rules leave to it. */
export function ShopPage() {
  const shop = useQuery(shopOptions);
  const averaging = useQuery(averagingOptions);
  const error = shop.error ?? averaging.error;
  return (
    <div className="stack">
      <PageHeader
        title="Shop"
        note="Name, time zone, and what the rules leave to the utility"
        actions={<EntriesLink subjectId="shop" />}
      />
      {error !== null ? (
        <ProblemNotice
          error={error}
          onRetry={() => {
            void shop.refetch();
            void averaging.refetch();
          }}
        />
      ) : shop.data === undefined || averaging.data === undefined ? (
        <Waiting what="the shop's settings" />
      ) : (
        <ShopForm shop={shop.data} averaging={averaging.data} />
      )}
    </div>
  );
}

interface ShopFields {
  name: string;
  timeZone: string;
  homeJurisdiction: string;
  averageMethods: Record<string, string>;
}

function ShopForm({ shop, averaging }: { shop: Shop; averaging: Averaging }) {
  const queryClient = useQueryClient();
  const isReader = !may(useAccount().role, "shop.manage");
  const chosen = Object.fromEntries(
    averaging.rows.flatMap((row) => (row.chosen === null ? [] : [[row.jurisdiction, row.chosen]])),
  );
  const [reason, setReason] = useState("");
  const [isSaved, setSaved] = useState(false);
  const submission = useSubmission(changeShop);
  const { base, form, change, rebase, isChanged, clash } = useVersionedForm(shop, {
    schema: shopSchema,
    formOf: (row) => fieldsOf(row, chosen),
    problem: submission.problem,
  });
  const { leaveDialog } = useLeaveGuard(reason !== "" || isChanged);
  const save = async (fields: ShopFields, version: number) => {
    setSaved(false);
    const reply = await submission.submit({
      version,
      body: { ...fields, name: fields.name.trim(), reason: reason.trim() },
    });
    if (reply === null) return;
    rebase(reply);
    setReason("");
    setSaved(true);
    await Promise.all([
      queryClient.invalidateQueries({ queryKey: averagingOptions.queryKey }),
      queryClient.invalidateQueries({ queryKey: shopOptions.queryKey }),
    ]);
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save(form, base.version);
  };
  const choices = averaging.rows.filter((row) => row.choices.length > 1);
  return (
    <form className="stack" onSubmit={submit}>
      {isReader ? <Notice title="A supervisor or an administrator changes these settings." /> : null}
      <EditSummary
        submission={submission}
        names={names}
        clash={clash}
        linesOf={linesOf}
        onSave={(fields, version) => void save(fields, version)}
      />
      {isSaved ? <Notice title="The change is saved." isAnnounced /> : null}
      <fieldset className="stack shop-settings" disabled={isReader}>
        <legend className="visually-hidden">Settings</legend>
        <div className="row-fields row-fields-wide">
          <TextField
            label="Name"
            id={fieldId("/name")}
            value={form.name}
            onChange={(name) => change({ name })}
            error={submission.errorAt("/name")}
            maxLength={120}
          />
          <TextField
            label="Time zone"
            hint="Such as America/New_York; dates in lists and documents are local to it"
            id={fieldId("/timeZone")}
            value={form.timeZone}
            onChange={(timeZone) => change({ timeZone })}
            error={submission.errorAt("/timeZone")}
            maxLength={60}
          />
          <Select
            label="Home jurisdiction"
            hint="Whose rules hold where a meter has no service point"
            id={fieldId("/homeJurisdiction")}
            value={form.homeJurisdiction}
            onChange={(homeJurisdiction) => {
              if (homeJurisdiction !== "") change({ homeJurisdiction });
            }}
            options={averaging.rows.map((row) => ({ value: row.jurisdiction, label: row.title }))}
            error={submission.errorAt("/homeJurisdiction")}
          />
        </div>
        <Panel title="How the average registration is made">
          <p>
            Where a rule leaves the method to the utility, choose it here. It holds for tests recorded from
            now on; tests on record keep the method that they were judged by.
          </p>
          <div className="row-fields row-fields-wide">
            {choices.map((row) => (
              <Select
                key={row.jurisdiction}
                label={row.title}
                id={fieldId(`/averageMethods/${row.jurisdiction}`)}
                value={form.averageMethods[row.jurisdiction] ?? ""}
                onChange={(key) => {
                  const { [row.jurisdiction]: _, ...others } = form.averageMethods;
                  change({ averageMethods: key === "" ? others : { ...others, [row.jurisdiction]: key } });
                }}
                placeholder="The first that fits the meter's phases"
                options={row.choices.map(({ key, label, source }) => ({
                  value: key,
                  label: `${label}, ${source}`,
                }))}
                error={submission.errorAt(`/averageMethods/${row.jurisdiction}`)}
              />
            ))}
          </div>
        </Panel>
        <TextArea
          label="Reason"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          rows={2}
          maxLength={500}
        />
        <div>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Save the settings
          </Button>
        </div>
      </fieldset>
      {leaveDialog}
    </form>
  );
}

function linesOf(opened: ShopFields, mine: ShopFields, theirs: ShopFields): ClashLine[] {
  return (["name", "timeZone", "homeJurisdiction"] as const).map((field) => ({
    label: names[`/${field}`],
    opened: opened[field],
    mine: mine[field],
    theirs: theirs[field],
  }));
}

function fieldsOf(
  { name, timeZone, homeJurisdiction }: Shop,
  averageMethods: Record<string, string>,
): ShopFields {
  return { name, timeZone, homeJurisdiction, averageMethods };
}
