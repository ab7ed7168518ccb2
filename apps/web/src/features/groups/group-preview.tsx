import { groupStandingNames, previewProgramme } from "@sealbook/contract/groups";
import { useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { LeftOutList } from "./left-out-list.tsx";

/** The groups that a scheme forms from the inventory: their sizes, what is split or merged, and who is left out. */
export function GroupPreview({ schemeId }: { schemeId: string }) {
  const preview = useQuery(operationOptions(previewProgramme, { query: { schemeId } }));
  if (preview.data === undefined) {
    if (preview.error === null) return <Waiting what="the groups" />;
    return <ProblemNotice error={preview.error} onRetry={() => void preview.refetch()} />;
  }
  const { groups, meters, leftOut } = preview.data;
  const lots = groups.flatMap((group) => group.lots);
  const sampled = lots.reduce((sum, lot) => sum + (lot.sample ?? 0), 0);
  return (
    <div className="stack">
      <p>
        {meters} meters in service, {lots.length} {lots.length === 1 ? "lot" : "lots"}, {sampled} to be
        tested.
      </p>
      {groups.length === 0 ? (
        <Empty title="The scheme forms no group from the inventory.">
          Meters enter a group while they are in service and belong to the utility.
        </Empty>
      ) : (
        <DataTable
          caption="Groups formed from the inventory"
          rows={groups}
          rowKey={(group) => group.key}
          isQuiet={(group) => group.standing === "too-small"}
          columns={[
            {
              heading: "Group",
              isRowHeader: true,
              cell: (group) => (
                <>
                  {group.title}
                  {group.of.length < 2 ? null : (
                    <div className="small quiet">
                      {group.of.map((part) => `${part.title} (${part.size})`).join("; ")}
                    </div>
                  )}
                </>
              ),
            },
            { heading: "Meters", cell: (group) => group.size, isNumeric: true },
            {
              heading: "Becomes",
              cell: (group) => (
                <StatusMark tone={group.standing === "too-small" ? "warn" : "neutral"}>
                  {groupStandingNames[group.standing]}
                </StatusMark>
              ),
            },
            {
              heading: "Lots",
              cell: (group) =>
                group.lots.length === 0 ? "–" : group.lots.map((lot) => lot.size).join(" + "),
              isNumeric: true,
            },
            {
              heading: "Sample",
              cell: (group) =>
                group.lots.length === 0 ? "–" : group.lots.map((lot) => lot.sample ?? "–").join(" + "),
              isNumeric: true,
            },
            { heading: "Why", cell: (group) => group.reason, isNarrowHidden: true },
          ]}
        />
      )}
      <LeftOutList leftOut={leftOut} />
    </div>
  );
}
