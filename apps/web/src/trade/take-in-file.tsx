import "./take-in-file.css";
import { addFile } from "@sealbook/contract/files";
import { addImport } from "@sealbook/contract/imports";
import type { BodyOf } from "@sealbook/contract/operation";
import { useMutation, useQueryClient } from "@tanstack/react-query";
import { useNavigate } from "@tanstack/react-router";
import { useState } from "react";
import { call } from "../api/call.ts";
import { newId } from "../api/new-id.ts";
import { areaKey } from "../api/operation-options.ts";
import { ProblemError } from "../api/problem-error.ts";
import { paths } from "../paths.ts";
import { FileField } from "../ui/file-field.tsx";
import { ProblemNotice } from "./problem-notice.tsx";

/** A file to take in, with the ids that make every step of it repeatable. */
interface Chosen {
  file: File;
  fileId: string;
  importId: string;
}

/** What an import needs to know beside its file: its kind, and of a maker's list the shipment. */
type Into<Body = BodyOf<typeof addImport>> = Body extends unknown ? Omit<Body, "id" | "fileId"> : never;

/**
 * Takes in a file, dropped or chosen, and opens its import. A file that came before opens the import on record, which
 * then says so.
 */
export function TakeInFile({
  into,
  label,
  hint,
}: {
  into: Into;
  label: string;
  /** What the file must be. */
  hint: string;
}) {
  const navigate = useNavigate();
  const queryClient = useQueryClient();
  const [isOver, setOver] = useState(false);
  const taking = useMutation({
    mutationFn: async ({ file, fileId, importId }: Chosen) => {
      const kept = await call(addFile, { query: { id: fileId }, file });
      return await call(addImport, { body: { ...into, id: importId, fileId: kept.id } });
    },
    onSuccess: async (added, { importId }) => {
      void queryClient.invalidateQueries({ queryKey: areaKey("imports") });
      await navigate({
        to: paths.import(added.id),
        ...(added.id === importId ? {} : { search: { again: "yes" } }),
      });
    },
  });
  const take = (files: Iterable<File>) => {
    const [file] = files;
    if (file === undefined || taking.isPending) return;
    taking.mutate({ file, fileId: newId(), importId: newId() });
  };
  const { variables } = taking;
  return (
    <section
      className="drop-area"
      aria-label={label}
      data-over={isOver || undefined}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        take(event.dataTransfer.files);
      }}
    >
      <FileField
        label={label}
        hint={`${hint} Drop it here or choose it: CSV in UTF-8, headings in the first line. Nothing goes into the book before you have seen a dry run.`}
        accept=".csv,.txt,.tsv,text/csv,text/plain"
        onChoose={take}
        isDisabled={taking.isPending}
      />
      <div role="status">{taking.isPending ? `Sending ${variables?.file.name ?? "the file"}…` : null}</div>
      {taking.error === null ? null : (
        <ProblemNotice
          error={taking.error}
          {...(variables === undefined || !mayPass(taking.error)
            ? {}
            : { onRetry: () => taking.mutate(variables) })}
        />
      )}
    </section>
  );
}

/** Whether what failed may work when tried again as it is: a file that is refused stays refused. */
function mayPass(error: Error): boolean {
  return !(error instanceof ProblemError) || error.status >= 500 || error.slug === "too-many-requests";
}
