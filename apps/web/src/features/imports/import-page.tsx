import "./imports.css";
import { checkImport } from "@sealbook/contract/imports";
import { Link } from "@tanstack/react-router";
import { useSubmission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { useSearchText } from "../../ui/use-search-text.ts";
import { DryRunStep } from "./dry-run-step.tsx";
import { FileStep } from "./file-step.tsx";
import { ImportStateMark } from "./import-state-mark.tsx";
import { MappingStep } from "./mapping-step.tsx";
import { RunStep } from "./run-step.tsx";
import { useImport } from "./use-import.ts";

/** One import, step by step: the file, its mapping, the dry run, and putting it in. */
export function ImportPage() {
  const importId = useRouteParam("importId");
  const [{ again }] = useSearchText();
  const { import: shown, followError } = useImport(importId);
  const check = useSubmission(checkImport);
  const startCheck = async (mappingId: string) => {
    await check.submit({ params: { id: importId }, body: { mappingId } });
  };
  return (
    <div className="stack">
      <PageHeader
        title={shown.file.name}
        note={
          <span className="row">
            <ImportStateMark state={shown.state} />
            {shown.lot === null ? null : (
              <span>
                Maker&rsquo;s list for shipment{" "}
                <Link to={paths.shipment(shown.lot.id)}>{shown.lot.number}</Link>
              </span>
            )}
          </span>
        }
      />
      {again === "yes" ? (
        <Notice title="This file was taken in before" isAnnounced>
          <p>Its content is the same to the last byte, so this is the import on record. Nothing was added.</p>
        </Notice>
      ) : null}
      {followError === null ? null : (
        <Notice tone="warn" title="The progress cannot be followed just now" isAnnounced>
          <p>{followError.message} The service goes on with the import by itself.</p>
        </Notice>
      )}
      <FileStep of={shown} />
      <MappingStep of={shown} onCheck={startCheck} />
      <DryRunStep of={shown} check={check} onCheck={startCheck} />
      <RunStep of={shown} />
    </div>
  );
}
