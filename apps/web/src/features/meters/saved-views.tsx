import {
  changeSavedView,
  listSavedViews,
  removeSavedView,
  type SavedView,
  saveView,
} from "@sealbook/contract/saved-views";
import { useQuery } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { newId } from "../../api/new-id.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { Dialog } from "../../ui/dialog.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";
import { TextField } from "../../ui/text-field.tsx";
import type { SearchText } from "../../ui/use-search-text.ts";
import { type ListSearch, searchTextOf } from "./list-search.ts";

/** Views of the list that one keeps by name, and those that others share: choose one, keep the present one. */
export function SavedViews({ search, onOpen }: { search: ListSearch; onOpen: (search: SearchText) => void }) {
  const views = useQuery(operationOptions(listSavedViews, {}));
  const [isSaving, setSaving] = useState(false);
  const [isManaging, setManaging] = useState(false);
  const rows = views.data?.rows ?? [];
  const present = textOfSearch(searchTextOf(search));
  const shown = rows.find((view) => textOfSearch(searchOf(view)) === present);
  return (
    <>
      <Select
        label="View"
        value={shown?.id ?? ""}
        onChange={(id) => {
          const view = rows.find((one) => one.id === id);
          onOpen(view === undefined ? {} : searchOf(view));
        }}
        placeholder={present === "" ? "All meters" : "None that is kept"}
        error={views.error === null ? undefined : views.error.message}
        options={rows.map((view) => ({
          value: view.id,
          label: view.own ? view.name : `${view.name} (shared by ${view.ownerName})`,
        }))}
      />
      {shown === undefined ? <Button onClick={() => setSaving(true)}>Keep this view</Button> : null}
      {rows.some(({ own }) => own) ? <Button onClick={() => setManaging(true)}>Your views</Button> : null}
      {isSaving ? <SaveDialog search={search} onClose={() => setSaving(false)} /> : null}
      {isManaging ? (
        <OwnViewsDialog
          views={rows.filter(({ own }) => own)}
          search={search}
          onClose={() => setManaging(false)}
        />
      ) : null}
    </>
  );
}

/** The address of a view: its filters and order, and its columns. */
function searchOf(view: SavedView): SearchText {
  return { ...view.body.search };
}

function textOfSearch(search: SearchText): string {
  return Object.entries(search)
    .filter(([, value]) => value !== "")
    .sort(([a], [b]) => (a < b ? -1 : 1))
    .map(([name, value]) => `${name}=${value}`)
    .join("&");
}

function bodyOf(search: ListSearch) {
  const text = Object.entries(searchTextOf(search)).filter(([, value]) => value !== "");
  return { search: Object.fromEntries(text), columns: [...search.columns] };
}

const names = { "/name": "Name" };

function SaveDialog({ search, onClose }: { search: ListSearch; onClose: () => void }) {
  const [id] = useState(newId);
  const [name, setName] = useState("");
  const [shared, setShared] = useState(false);
  const submission = useSubmission(saveView);
  const save = async (event: FormEvent) => {
    event.preventDefault();
    const kept = await submission.submit({ body: { id, name: name.trim(), shared, body: bodyOf(search) } });
    if (kept !== null) onClose();
  };
  return (
    <Dialog title="Keep this view by name" onClose={onClose}>
      <form className="stack" onSubmit={save}>
        <SubmissionSummary submission={submission} names={names} />
        <TextField
          label="Name"
          id={fieldId("/name")}
          value={name}
          onChange={setName}
          error={submission.errorAt("/name")}
          hint="Filters, order and columns are kept. Relative dates such as “within 30 days” move with the calendar."
          maxLength={60}
          autoFocus
        />
        <Checkbox isSelected={shared} onChange={setShared}>
          Everybody may use it
        </Checkbox>
        <div className="dialog-buttons">
          <Button onClick={onClose}>Cancel</Button>
          <Button type="submit" kind="primary" isPending={submission.pending}>
            Keep it
          </Button>
        </div>
      </form>
    </Dialog>
  );
}

function OwnViewsDialog({
  views,
  search,
  onClose,
}: {
  views: readonly SavedView[];
  search: ListSearch;
  onClose: () => void;
}) {
  return (
    <Dialog title="Your views" onClose={onClose} isWide buttons={<Button onClick={onClose}>Close</Button>}>
      <ul className="stack-tight plain-list">
        {views.map((view) => (
          <OwnView key={`${view.id} ${view.version}`} view={view} search={search} />
        ))}
      </ul>
    </Dialog>
  );
}

function OwnView({ view, search }: { view: SavedView; search: ListSearch }) {
  const changing = useSubmission(changeSavedView);
  const removing = useSubmission(removeSavedView);
  const change = (fields: Partial<{ shared: boolean; body: SavedView["body"] }>) =>
    void changing.submit({
      params: { id: view.id },
      version: view.version,
      body: { name: view.name, shared: view.shared, body: view.body, ...fields },
    });
  const problem = changing.problem ?? removing.problem;
  return (
    <li className="row">
      <strong>{view.name}</strong>
      <span className="quiet">{view.shared ? "shared" : "yours alone"}</span>
      <Button isPending={changing.pending} onClick={() => change({ shared: !view.shared })}>
        {view.shared ? "Stop sharing" : "Share"}
        <span className="visually-hidden"> {view.name}</span>
      </Button>
      <Button isPending={changing.pending} onClick={() => change({ body: bodyOf(search) })}>
        Make it what is shown now<span className="visually-hidden">: {view.name}</span>
      </Button>
      <Button isPending={removing.pending} onClick={() => void removing.submit({ params: { id: view.id } })}>
        Remove<span className="visually-hidden"> {view.name}</span>
      </Button>
      {problem === null ? null : (
        <span className="field-error" role="alert">
          {problem.message}
        </span>
      )}
    </li>
  );
}
