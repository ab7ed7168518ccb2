import {
  changeMeterType,
  getMeterType,
  type MeterType,
  meterTypeSchema,
} from "@sealbook/contract/meter-types";
import { useSuspenseQuery } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { type FormEvent, useState } from "react";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import type { ClashLine } from "../../trade/clash-notice.tsx";
import { EditSummary } from "../../trade/edit-summary.tsx";
import { useVersionedForm } from "../../trade/use-versioned-form.ts";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { TextArea } from "../../ui/text-area.tsx";
import { useLeaveGuard } from "../../ui/use-leave-guard.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { circuits } from "./circuits.ts";
import { fieldNames } from "./field-names.ts";
import { draftOf, fieldsOf, type MeterTypeDraft } from "./meter-type-draft.ts";
import { MeterTypeFieldset } from "./meter-type-fieldset.tsx";

/** Changes a type, with a reason; a change that somebody else saved first is shown beside one's own. */
export function EditMeterTypePage() {
  const typeId = useRouteParam("typeId");
  const { data } = useSuspenseQuery({
    ...operationOptions(getMeterType, { params: { id: typeId } }),
    // What the form was opened with stays; a newer version comes as a clash on saving.
    refetchOnWindowFocus: false,
  });
  const [opened] = useState(data);
  return <EditMeterType opened={opened} />;
}

function EditMeterType({ opened }: { opened: MeterType }) {
  const navigate = useNavigate();
  const [reason, setReason] = useState("");
  const submission = useSubmission(changeMeterType, { touches: ["meters"] });
  const { base, form, change, isChanged, clash } = useVersionedForm(opened, {
    schema: meterTypeSchema,
    formOf,
    problem: submission.problem,
  });
  const { leaveDialog, release } = useLeaveGuard(reason !== "" || isChanged);

  const save = async ({ retired, ...fields }: MeterTypeForm, version: number) => {
    const reply = await submission.submit({
      params: { id: opened.id },
      version,
      body: { ...fieldsOf(fields), retired, reason: reason.trim() },
    });
    if (reply === null) return;
    release();
    await navigate({ to: paths.type(opened.id) });
  };
  const submit = (event: FormEvent) => {
    event.preventDefault();
    void save(form, base.version);
  };

  return (
    <form className="stack" onSubmit={submit}>
      <PageHeader
        title={`Change ${base.maker} ${base.model}`}
        note="Tests on record keep the constants they were made with."
      />
      <EditSummary
        submission={submission}
        names={fieldNames}
        clash={clash}
        linesOf={linesOf}
        onSave={(fields, version) => void save(fields, version)}
      />
      <MeterTypeFieldset draft={form} onChange={change} errorAt={submission.errorAt} />
      <Panel title="Why">
        <Checkbox
          isSelected={form.retired}
          onChange={(retired) => change({ retired })}
          id={fieldId("/retired")}
        >
          Retired: no new meters of this type are taken in
        </Checkbox>
        <TextArea
          label="Reason for the change"
          id={fieldId("/reason")}
          value={reason}
          onChange={setReason}
          error={submission.errorAt("/reason")}
          maxLength={500}
          rows={2}
        />
      </Panel>
      <div className="row">
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Saving" : "Save the change"}
        </Button>
        <ButtonLink to={paths.type(opened.id)} kind="quiet">
          Leave it as it is
        </ButtonLink>
      </div>
      {leaveDialog}
    </form>
  );
}

/** A type's form with the one mark that only a change has. */
type MeterTypeForm = MeterTypeDraft & { retired: boolean };

function formOf(type: MeterType): MeterTypeForm {
  return { ...draftOf(type), retired: type.retired };
}

function linesOf(opened: MeterTypeForm, mine: MeterTypeForm, theirs: MeterTypeForm): ClashLine[] {
  const plain = (Object.keys(mine) as (keyof MeterTypeForm)[])
    .filter((key) => key !== "circuitFactors")
    .map((key) => ({
      label: fieldNames[`/${key}`] ?? key,
      opened: shown(opened[key]),
      mine: shown(mine[key]),
      theirs: shown(theirs[key]),
    }));
  const factors = circuits.map((circuit) => ({
    label: fieldNames[`/circuitFactors/${circuit}`] ?? circuit,
    opened: shown(opened.circuitFactors[circuit]),
    mine: shown(mine.circuitFactors[circuit]),
    theirs: shown(theirs.circuitFactors[circuit]),
  }));
  return [...plain, ...factors];
}

function shown(value: unknown): string {
  if (value === "" || value === undefined) return "–";
  if (typeof value === "boolean") return value ? "yes" : "no";
  return String(value);
}
