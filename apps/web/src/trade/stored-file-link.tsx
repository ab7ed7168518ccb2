import { getFile } from "@sealbook/contract/files";
import { operationUrl } from "../api/operation-url.ts";

/** A kept file, to open or download. */
export function StoredFileLink({ file }: { file: { id: string; name: string } }) {
  return (
    <a href={operationUrl(getFile, { id: file.id })} target="_blank" rel="noreferrer">
      {file.name}
    </a>
  );
}
