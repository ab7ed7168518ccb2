import "./kept-files-field.css";
import { addFile } from "@sealbook/contract/files";
import { useMutation } from "@tanstack/react-query";
import { call } from "../api/call.ts";
import { newId } from "../api/new-id.ts";
import { Button } from "../ui/button.tsx";
import { FileField } from "../ui/file-field.tsx";
import { ProblemNotice } from "./problem-notice.tsx";
import { StoredFileLink } from "./stored-file-link.tsx";

/** A file that was kept and is named by a form that is not saved yet. */
export interface KeptFile {
  id: string;
  name: string;
}

/** Files that belong to a form: each is sent as soon as it is chosen, the form then names it by its id. */
export function KeptFilesField({
  label,
  hint,
  error,
  id,
  accept = "image/png,image/jpeg,application/pdf",
  files,
  onAdd,
  onRemove,
  isSingle = false,
}: {
  label: string;
  hint?: string;
  error?: string | undefined;
  id?: string;
  accept?: string;
  files: readonly KeptFile[];
  /** Hears of each file once the service has it. */
  onAdd: (file: KeptFile) => void;
  onRemove: (id: string) => void;
  isSingle?: boolean;
}) {
  const sending = useMutation({
    mutationFn: async (chosen: { id: string; file: File }[]) => {
      for (const { id: fileId, file } of chosen) {
        const kept = await call(addFile, { query: { id: fileId }, file });
        onAdd({ id: kept.id, name: kept.name });
      }
    },
  });
  return (
    <div className="stack-tight kept-files">
      <FileField
        label={label}
        optional
        accept={accept}
        isMultiple={!isSingle}
        hint={sending.isPending ? "Sending…" : hint}
        error={error}
        {...(id === undefined ? {} : { id })}
        onChoose={(chosen) => sending.mutate(chosen.map((file) => ({ id: newId(), file })))}
      />
      {sending.error === null ? null : (
        <ProblemNotice
          error={sending.error}
          {...(sending.variables === undefined ? {} : { onRetry: () => sending.mutate(sending.variables) })}
        />
      )}
      {files.length === 0 ? null : (
        <ul>
          {files.map((file) => (
            <li key={file.id}>
              <StoredFileLink file={file} />{" "}
              <Button kind="quiet" aria-label={`Take ${file.name} off`} onClick={() => onRemove(file.id)}>
                Take off
              </Button>
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}
