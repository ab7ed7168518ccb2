import {
  getEntryProof,
  getEntryProofFile,
  getLogHeadFile,
  type LedgerEntryView,
} from "@sealbook/contract/ledger";
import { fromHex } from "@sealbook/evidence/bytes";
import { checkInclusionProof } from "@sealbook/evidence/check-inclusion-proof";
import { logLeafHash } from "@sealbook/evidence/log-leaf";
import { useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { Panel } from "../../ui/panel.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { shownEntry } from "./hash-of.ts";

/** Where an entry stands in the log, with its proof checked in this browser and the files to keep. */
export function EntryInLog({ entry }: { entry: LedgerEntryView }) {
  const params = { id: entry.id };
  const { data: proof, error } = useQuery({
    ...operationOptions(getEntryProof, { params }),
    // A new entry takes its place within a second.
    refetchInterval: ({ state }) => (state.data === undefined ? 2000 : false),
  });
  if (proof === undefined) {
    return (
      <Panel title="Place in the log">
        <p>{error === null ? "Looking the entry up in the log…" : error.message}</p>
      </Panel>
    );
  }
  const checked = checkInclusionProof({
    leafHash: logLeafHash(shownEntry(entry), proof.rows),
    index: proof.index,
    size: proof.size,
    proof: proof.hashes.map(fromHex),
    root: fromHex(proof.root),
  });
  return (
    <Panel title="Place in the log">
      <p>
        In the log at index {proof.index} of size {proof.size}, with{" "}
        {proof.rows === null
          ? "no hashes of rows, as all entries before these were kept"
          : rowsWritten(proof.rows.count)}
        .
      </p>
      <p>
        {checked.kind === "accepted" ? (
          <StatusMark tone="good">Proof checked in this browser: leads to the head</StatusMark>
        ) : (
          <StatusMark tone="bad">
            Proof checked in this browser: {checked.got}, not {checked.want}
          </StatusMark>
        )}
      </p>
      <p>
        <a href={operationUrl(getEntryProofFile, params)} download>
          Proof of this entry
        </a>
        {", "}
        <a href={operationUrl(getLogHeadFile)} download>
          Signed head of the log
        </a>
      </p>
      <p className="quiet small">
        Whoever keeps a signed head elsewhere can show later whether any entry under it was changed, removed,
        added or moved.
      </p>
    </Panel>
  );
}

function rowsWritten(count: number): string {
  return count === 1
    ? "the hash of the one row that it wrote"
    : `the hashes of the ${count} rows that it wrote`;
}
