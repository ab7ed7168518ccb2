import { type MeterTest, signatureMeaningNames } from "@sealbook/contract/meter-tests";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { EntriesLink } from "../../trade/entries-link.tsx";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";

/** Who recorded and signed a test, and the ledger entry that proves it. */
export function RecordedEvidence({ test }: { test: MeterTest }) {
  return (
    <div className="stack-tight">
      {test.signatures.length === 0 ? (
        <p>Not signed yet.</p>
      ) : (
        <DataTable
          caption="Signatures"
          rows={test.signatures}
          rowKey={(signature) => signature.id}
          columns={[
            {
              heading: "Signed by",
              isRowHeader: true,
              cell: (signature) => <PersonName person={signature.person} />,
            },
            { heading: "Meaning", cell: (signature) => signatureMeaningNames[signature.meaning] },
            { heading: "At", cell: (signature) => <LocalInstant instant={signature.signedAt} /> },
            {
              heading: "Hash of the record",
              cell: (signature) => <code className="hash">{signature.recordHash}</code>,
            },
          ]}
        />
      )}
      <DefinitionList
        items={[
          { term: "Tested by", value: <PersonName person={test.tester} /> },
          { term: "Recorded by", value: <PersonName person={test.recordedBy} /> },
          { term: "Recorded at", value: <LocalInstant instant={test.recordedAt} /> },
          {
            term: "How it came in",
            value:
              test.source === null ? (
                "Entered by hand"
              ) : (
                <>
                  Row {test.source.rowNumber} of{" "}
                  <Link to={paths.import(test.source.importId)}>{test.source.fileName}</Link>
                </>
              ),
          },
          {
            term: "Ledger entry",
            value: (
              <div className="stack-tight">
                <span>
                  <Link to={paths.ledgerEntry(test.entryId)}>{test.entryId}</Link>
                </span>
                <span>
                  <EntriesLink subjectId={test.id} />
                </span>
              </div>
            ),
          },
          { term: "Hash of the entry", value: <code className="hash">{test.entryHash}</code> },
        ]}
      />
    </div>
  );
}
