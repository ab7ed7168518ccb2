import { listProfiles, type RuleProfileView } from "@sealbook/contract/profiles";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Panel } from "../../ui/panel.tsx";
import { ProfileStandingMark } from "./profile-standing-mark.tsx";

/** Every version of one place's rules, each to be held against the one on this page. */
export function ProfileVersions({ profile }: { profile: RuleProfileView }) {
  return (
    <Panel title="Versions">
      <PagedTable
        operation={listProfiles}
        input={{ query: { key: profile.key, limit: 50 } }}
        caption={`Versions of ${profile.key}, newest first`}
        noun={["version", "versions"]}
        rowKey={(row) => row.id}
        columns={[
          {
            heading: "Version",
            isRowHeader: true,
            isNumeric: true,
            cell: (row) =>
              row.id === profile.id ? (
                <>{row.version} (this one)</>
              ) : (
                <Link to={paths.rule(row.id)}>{row.version}</Link>
              ),
          },
          {
            heading: "Stands",
            cell: (row) => <ProfileStandingMark standing={row.standing} />,
            isNowrap: true,
          },
          {
            heading: "In force from",
            cell: (row) =>
              row.decision?.outcome === "approved" ? (row.decision.effectiveFrom ?? "the beginning") : "–",
            isNowrap: true,
          },
          {
            heading: "Proposed by",
            cell: (row) =>
              row.proposedBy === null ? "came with the service" : <PersonName person={row.proposedBy} />,
            isNarrowHidden: true,
          },
          {
            heading: "Decided by",
            cell: (row) =>
              row.decision === null ? (
                "–"
              ) : (
                <>
                  {row.decision.decidedBy === null ? (
                    "the service"
                  ) : (
                    <PersonName person={row.decision.decidedBy} />
                  )}
                  , <LocalInstant instant={row.decision.decidedAt} />: {row.decision.reason}
                </>
              ),
            isNarrowHidden: true,
          },
          {
            heading: "Compare",
            cell: (row) =>
              row.id === profile.id ? (
                "–"
              ) : (
                <Link to={paths.compareRules(...inOrder(row, profile))}>with this one</Link>
              ),
            isNowrap: true,
          },
        ]}
        empty={<Empty title="There is no version on record." />}
      />
    </Panel>
  );
}

interface Version {
  id: string;
  version: string;
}

/** Ids of two versions, the older first. */
function inOrder(one: Version, other: Version): [string, string] {
  return Number(one.version) < Number(other.version) ? [one.id, other.id] : [other.id, one.id];
}
