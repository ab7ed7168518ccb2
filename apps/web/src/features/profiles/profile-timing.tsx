import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Panel } from "../../ui/panel.tsx";
import { limitedNames, monthsWords } from "./profile-words.ts";

/** When a profile wants tests made, how it samples, and how long records are kept. */
export function ProfileTiming({ profile }: { profile: RuleProfile }) {
  const { from, to } = profile.effective;
  return (
    <>
      <Panel title="Intervals and records">
        <DefinitionList
          items={[
            { term: "In force from", value: from ?? "the text read does not say" },
            { term: "Until", value: to ?? "no end is known" },
          ]}
        />
        {profile.intervals.length === 0 ? (
          <p className="quiet">The text read gives no interval for periodic tests.</p>
        ) : (
          <DataTable
            caption="Intervals of periodic tests"
            rows={profile.intervals}
            rowKey={(interval) => interval.appliesTo}
            columns={[
              { heading: "Meters", isRowHeader: true, cell: (interval) => interval.appliesTo },
              {
                heading: "At the latest every",
                cell: (interval) => monthsWords(interval.months),
                isNowrap: true,
              },
              {
                heading: "Source",
                cell: (interval) => <span className="profile-source">{interval.source}</span>,
                isNarrowHidden: true,
              },
            ]}
          />
        )}
        {profile.retention.length === 0 ? null : (
          <ul>
            {profile.retention.map((one) => (
              <li key={one.what}>
                {one.what}: {one.howLong} <span className="profile-source">({one.source})</span>
              </li>
            ))}
          </ul>
        )}
      </Panel>
      {profile.reports === undefined && profile.deadlines === undefined ? null : (
        <Panel title="Reports and deadlines">
          <DataTable
            caption="What must be done, and by when"
            rows={[...(profile.reports ?? []).map(reportRow), ...(profile.deadlines ?? []).map(deadlineRow)]}
            rowKey={(row) => row.what}
            columns={[
              { heading: "What", isRowHeader: true, cell: (row) => row.what },
              { heading: "By", cell: (row) => row.by },
              {
                heading: "Source",
                cell: (row) => <span className="profile-source">{row.source}</span>,
                isNarrowHidden: true,
              },
            ]}
          />
        </Panel>
      )}
      {profile.standardIntervals === undefined ? null : (
        <Panel title="Standards">
          <DataTable
            caption="How often standards are compared"
            rows={profile.standardIntervals}
            rowKey={(interval) => interval.appliesTo}
            columns={[
              { heading: "Standard", isRowHeader: true, cell: (interval) => interval.appliesTo },
              {
                heading: "At the latest every",
                cell: (interval) => monthsWords(interval.months),
                isNowrap: true,
              },
              {
                heading: "Source",
                cell: (interval) => <span className="profile-source">{interval.source}</span>,
                isNarrowHidden: true,
              },
            ]}
          />
        </Panel>
      )}
      {profile.sampling === null ? null : (
        <Panel title="Sampling">
          <Sampling scheme={profile.sampling} />
        </Panel>
      )}
      {profile.reportBands === null ? null : (
        <Panel title="Bands of the yearly report">
          <p>
            {profile.reportBands.bands.map((band) => band.label).join(" · ")}{" "}
            <span className="profile-source">
              Rounded to {profile.reportBands.places} decimals before counting. {profile.reportBands.source}
            </span>
          </p>
        </Panel>
      )}
    </>
  );
}

interface Due {
  what: string;
  by: string;
  source: string;
}

function reportRow({ what, dueBy, source }: NonNullable<RuleProfile["reports"]>[number]): Due {
  const by =
    dueBy === null ? "each year; the text read names no day" : `${dueBy} (month-day) of the following year`;
  return { what, by, source };
}

function deadlineRow({ what, within, source }: NonNullable<RuleProfile["deadlines"]>[number]): Due {
  return { what, by: within === null ? "without delay" : `within ${within.count} ${within.unit}`, source };
}

function Sampling({ scheme }: { scheme: NonNullable<RuleProfile["sampling"]> }) {
  switch (scheme.kind) {
    case "variables":
      return (
        <>
          <DefinitionList
            items={[
              { term: "Standard", value: scheme.standard },
              { term: "Tables", value: scheme.tables },
              { term: "Level", value: scheme.level },
              { term: "AQL", value: scheme.aqlPercent === null ? "not read" : `${scheme.aqlPercent} %` },
              {
                term: "Judged on",
                value:
                  scheme.judgedOn.length === 0
                    ? "not read"
                    : scheme.judgedOn.map((role) => limitedNames[role]).join(", "),
              },
              {
                term: "Limits",
                value:
                  scheme.limits === null
                    ? "not read"
                    : `${scheme.limits.minPercent} to ${scheme.limits.maxPercent} %`,
              },
              { term: "Every", value: monthsWords(scheme.everyMonths) },
            ]}
          />
          <p className="profile-source">{scheme.source}</p>
        </>
      );
    case "plan-table":
      return (
        <>
          <p>
            Sampling of meters in service by the rule's own table of plans, every{" "}
            {monthsWords(scheme.everyMonths)}.
          </p>
          <p className="profile-source">{scheme.source}</p>
        </>
      );
    case "utility-plan":
      return (
        <>
          <p>The utility's own plan, which may follow: {scheme.standards.join("; ")}.</p>
          <p className="profile-source">{scheme.source}</p>
        </>
      );
  }
}
