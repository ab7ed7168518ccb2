import type { Import, ImportMapping } from "@sealbook/contract/imports";
import { useQuery, useQueryClient } from "@tanstack/react-query";
import { useRef } from "react";
import { Button } from "../../ui/button.tsx";
import { ComboBox } from "../../ui/combo-box.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Notice } from "../../ui/notice.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { countOf } from "./format-count.ts";
import { isUnderWay } from "./import-state.ts";
import { kindWords } from "./kind-words.ts";
import { mappingLines } from "./mapping-lines.ts";
import { missingHeadings } from "./missing-headings.ts";
import { ChangeMapping, NewMapping } from "./open-mapping.tsx";
import { savedMappingsOptions } from "./saved-mappings-options.ts";
import { useFocusOnEntering } from "./use-focus-on-entering.ts";
import { useMappingChoice } from "./use-mapping-choice.ts";
import { useMayImport } from "./use-may-import.ts";
import { WhenFetched } from "./when-fetched.tsx";

/** What the address says of this step, so that a reload shows the same. */
interface Chosen {
  mapping?: string;
  /** "new", "copy" or "change" while a form is open. */
  form?: string;
}

/** Step 2: which column means what; chosen among the saved mappings, or made here. */
export function MappingStep({ of, onCheck }: { of: Import; onCheck: (mappingId: string) => Promise<void> }) {
  const saved = useQuery(savedMappingsOptions(of.kind));
  return (
    <Panel title="2. The mapping">
      <WhenFetched query={saved} what="the saved mappings">
        {({ rows }) => <MappingChoice of={of} saved={rows} onCheck={onCheck} />}
      </WhenFetched>
    </Panel>
  );
}

function MappingChoice({
  of,
  saved,
  onCheck,
}: {
  of: Import;
  saved: readonly ImportMapping[];
  onCheck: (mappingId: string) => Promise<void>;
}) {
  const buttons = useRef<HTMLDivElement>(null);
  const queryClient = useQueryClient();
  const mayRun = useMayImport(of.kind);
  const [search, changeSearch] = useSearchText();
  const { form }: Chosen = search;
  const { mappings, chosen } = useMappingChoice(of, saved);
  // The keyboard comes back to the buttons when a form closes.
  useFocusOnEntering(buttons, form === undefined);
  const choose = (mapping: string) => changeSearch({ mapping, form: "" });
  const open = (kind: string) => changeSearch({ form: kind });
  const save = async (mapping: ImportMapping, then: "check" | "stay") => {
    await queryClient.invalidateQueries({ queryKey: savedMappingsOptions(of.kind).queryKey });
    choose(mapping.id);
    if (then === "check") await onCheck(mapping.id);
  };
  const common = { of, onSaved: save, onClose: () => open("") };

  if (mayRun && !isUnderWay(of.state)) {
    if (form === "new" || (form === "copy" && chosen === null)) {
      return <NewMapping key="new" {...common} from={null} />;
    }
    if (form === "copy") return <NewMapping key="copy" {...common} from={chosen} />;
    if (form === "change" && chosen !== null)
      return <ChangeMapping key={chosen.id} {...common} mapping={chosen} />;
  }
  if (isUnderWay(of.state)) return <Summary mapping={of.mapping} headings={of.headings} />;
  if (!mayRun) {
    return of.mapping === null ? (
      <p>No mapping has been chosen yet. {kindWords[of.kind].takers} can choose one.</p>
    ) : (
      <Summary mapping={of.mapping} headings={of.headings} />
    );
  }
  return (
    <>
      {mappings.length === 0 ? (
        <p>No mapping is saved yet. Make one for {kindWords[of.kind].files}: it is kept under a name.</p>
      ) : (
        <div className="mapping-choice">
          <ComboBox
            label="Saved mapping"
            value={chosen?.id ?? ""}
            onChange={choose}
            options={mappings.map((mapping) => ({
              value: mapping.id,
              label: mapping.name,
              note: fitOf(missingHeadings(mapping.body, of.headings)),
            }))}
          />
        </div>
      )}
      <div className="row" ref={buttons} tabIndex={-1}>
        {chosen === null ? null : (
          <>
            <Button onClick={() => open("change")}>Change this mapping</Button>
            <Button onClick={() => open("copy")}>Make a copy</Button>
          </>
        )}
        <Button kind={mappings.length === 0 ? "primary" : "plain"} onClick={() => open("new")}>
          Make a new mapping
        </Button>
      </div>
      <Summary mapping={chosen} headings={of.headings} />
    </>
  );
}

function fitOf(missing: readonly string[]): string {
  if (missing.length === 0) return "fits this file";
  return `this file lacks ${countOf(missing.length, ["of its columns", "of its columns"])}`;
}

function Summary({ mapping, headings }: { mapping: ImportMapping | null; headings: readonly string[] }) {
  if (mapping === null) return null;
  const missing = missingHeadings(mapping.body, headings);
  return (
    <>
      {missing.length === 0 ? null : (
        <Notice tone="warn" title="This mapping names columns that the file has not">
          <p>{missing.join(", ")}. Choose another mapping, or change this one.</p>
        </Notice>
      )}
      <DefinitionList items={mappingLines(mapping)} />
    </>
  );
}
