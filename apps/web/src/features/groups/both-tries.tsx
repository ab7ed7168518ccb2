import { getLot, type Lot } from "@sealbook/contract/sampling";
import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { LotStateMark } from "../../trade/lots/lot-state-mark.tsx";
import { OutcomeMark } from "../../trade/lots/outcome-mark.tsx";
import { severityWords } from "../../trade/lots/severity-words.ts";
import { PersonName } from "../../trade/person-name.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Panel } from "../../ui/panel.tsx";
import { Waiting } from "../../ui/waiting.tsx";

/** The two tries of a group beside each other; nothing where there is one. */
export function BothTries({ lot }: { lot: Lot }) {
  const otherId = lot.secondTryOfId ?? lot.secondTry?.lotId ?? null;
  return otherId === null ? null : (
    <Panel title="First and second try">
      <Tries lot={lot} otherId={otherId} />
    </Panel>
  );
}

function Tries({ lot, otherId }: { lot: Lot; otherId: string }) {
  const other = useQuery(operationOptions(getLot, { params: { id: otherId } }));
  if (other.data === undefined) {
    if (other.error === null) return <Waiting what="the other try" />;
    return <ProblemNotice error={other.error} onRetry={() => void other.refetch()} />;
  }
  const tries = lot.secondTryOfId === null ? [lot, other.data] : [other.data, lot];
  return (
    <>
      <p>The approved decision on the second try is the group’s.</p>
      <DataTable
        caption="First and second try of the group"
        rows={tries.map((one, place) => ({ ...one, name: place === 0 ? "First try" : "Second try" }))}
        rowKey={(one) => one.id}
        columns={[
          {
            heading: "Try",
            isRowHeader: true,
            isNowrap: true,
            cell: (one) => (one.id === lot.id ? one.name : <Link to={paths.group(one.id)}>{one.name}</Link>),
          },
          { heading: "Lot", cell: (one) => one.number, isNowrap: true },
          { heading: "Meters", cell: (one) => one.counts.members, isNumeric: true },
          { heading: "Sample", cell: (one) => one.counts.sample, isNumeric: true },
          { heading: "Inspection", cell: (one) => severityWords(one.severities) },
          { heading: "Nonconforming", cell: countsOf },
          {
            heading: "Outcome",
            cell: (one) =>
              one.outcome === null ? (
                <LotStateMark state={one.state} />
              ) : (
                <OutcomeMark outcome={one.outcome} />
              ),
          },
          {
            heading: "Approved",
            cell: ({ decision }) =>
              decision?.approval == null ? (
                "–"
              ) : (
                <>
                  <PersonName person={decision.approval.person} />,{" "}
                  <LocalInstant instant={decision.approval.signedAt} />
                </>
              ),
          },
        ]}
      />
    </>
  );
}

/** Of each characteristic: how many of the sample, and how many its plan allows. */
function countsOf({ decision, plan }: Lot): string {
  if (decision === null) return "–";
  return decision.evaluation.characteristics
    .map(({ characteristic, nonconforming, counted }) => {
      const own = plan?.characteristics.find((one) => one.characteristic === characteristic)?.plan;
      const allowed = own === undefined || own.kind === "variables" ? "" : `, at most ${own.ac}`;
      const name =
        decision.evaluation.characteristics.length === 1
          ? ""
          : `${samplingCharacteristicNames[characteristic]} `;
      return `${name}${nonconforming} of ${counted}${allowed}`;
    })
    .join("; ");
}
