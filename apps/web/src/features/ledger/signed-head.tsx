import { getLogHead } from "@sealbook/contract/ledger";
import { useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { ProblemError } from "../../api/problem-error.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { CompareHead } from "./compare-head.tsx";

/** The newest signed head, and a head that was kept held against it; a log that is seconds old has none yet. */
export function SignedHead() {
  const { data: head, error, refetch } = useQuery(operationOptions(getLogHead, {}));
  if (head === undefined) {
    if (error === null) return <Waiting what="the signed head" />;
    return error instanceof ProblemError && error.slug === "not-found" ? (
      <Empty title="No head is signed yet.">The first is signed within seconds of the first entry.</Empty>
    ) : (
      <ProblemNotice error={error} onRetry={() => void refetch()} />
    );
  }
  return (
    <>
      <DefinitionList
        items={[
          { term: "Log", value: head.origin },
          { term: "Entries", value: head.size.toLocaleString("en-US") },
          { term: "Signed", value: <LocalInstant instant={head.at} /> },
          { term: "Root", value: <code className="ledger-text">{head.root}</code> },
          { term: "Key", value: <code className="ledger-text">{head.key}</code> },
        ]}
      />
      <Panel title="Compare with a head that you kept">
        <CompareHead newest={head} />
      </Panel>
    </>
  );
}
