import { getScheme } from "@sealbook/contract/sampling-schemes";
import {
  absenceReasonNames,
  samplingCharacteristicNames,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { choiceOfScheme } from "./choice-of-scheme.ts";
import { PlanTableView } from "./plan-table-view.tsx";
import { groupingWords, mergeNames, planWords, purposeNames, untestableNames } from "./scheme-words.ts";

/** One revision of a sampling scheme. */
export function SchemePage() {
  const schemeId = useRouteParam("schemeId");
  const { data: scheme } = useSuspenseQuery(operationOptions(getScheme, { params: { id: schemeId } }));
  const mayManage = useMay("sampling.manageSchemes");
  const { body } = scheme;
  const choice = choiceOfScheme(body.plan);
  const { grouping, lotSize, replacement } = body;
  return (
    <div className="stack">
      <PageHeader
        title={`${scheme.code}, revision ${scheme.revision}`}
        note={
          <>
            {scheme.name} · on record since <LocalInstant instant={scheme.recordedAt} />{" "}
            <PersonName person={scheme.recordedBy} />,{" "}
            <Link to={paths.ledgerEntry(scheme.entryId)}>ledger entry</Link>
          </>
        }
        actions={
          <>
            {choice === null ? null : (
              <Link to={paths.planChooser()} search={{ ...choice, scheme: scheme.code }}>
                Try its plan out
              </Link>
            )}
            {mayManage && scheme.current ? (
              <ButtonLink to={paths.reviseScheme(scheme.id)}>Write a new revision</ButtonLink>
            ) : null}
          </>
        }
      />
      {scheme.current ? null : (
        <Notice title="A newer revision of this scheme is in use. Lots made under this one keep it." />
      )}
      <div className="columns">
        <Panel title="Plan">
          <DefinitionList
            items={[
              { term: "For", value: purposeNames[body.purpose] },
              { term: "Plan", value: planWords(body) },
              {
                term: "Severity",
                value: body.switching
                  ? `follows the series${body.limitNumbersDropped ? "; limit numbers dropped by agreement" : ""}`
                  : "normal, unless directed",
              },
              { term: "Rule profile", value: body.jurisdiction ?? "house scheme" },
              ...(body.everyMonths === null
                ? []
                : [{ term: "Sampled every", value: `${body.everyMonths} months` }]),
              { term: "Source", value: body.source },
            ]}
          />
        </Panel>
        <Panel title="Lots">
          <DefinitionList
            items={[
              { term: "Least lot", value: lotSize.min },
              { term: "Greatest lot", value: lotSize.max ?? "no limit" },
              ...(lotSize.standAloneFrom === null
                ? []
                : [{ term: "Types that stand apart", value: `from ${lotSize.standAloneFrom} meters` }]),
              ...(grouping === null
                ? []
                : [
                    { term: "Groups", value: groupingWords(grouping) },
                    { term: "Small groups stand together", value: mergeNames[grouping.merge] },
                  ]),
            ]}
          />
        </Panel>
      </div>
      {body.plan.kind === "plan-table" ? (
        <Panel title="Plan table">
          <PlanTableView table={body.plan.table} />
        </Panel>
      ) : null}
      <Panel title="What is judged">
        <DataTable
          caption="Characteristics judged"
          rows={body.characteristics}
          rowKey={(one) => one.characteristic}
          columns={[
            {
              heading: "Characteristic",
              isRowHeader: true,
              cell: (one) => samplingCharacteristicNames[one.characteristic],
            },
            { heading: "From %", cell: (one) => one.limits?.minPercent ?? "–", isNumeric: true },
            { heading: "To %", cell: (one) => one.limits?.maxPercent ?? "–", isNumeric: true },
            {
              heading: "AQL %",
              cell: (one) => one.aqlPercent ?? (body.plan.kind === "plan-table" ? "–" : body.plan.aqlPercent),
              isNumeric: true,
            },
            {
              heading: "Source of the limits",
              cell: (one) => one.limits?.source ?? "each meter's own profile",
            },
          ]}
        />
        <p>
          {body.average === null
            ? "The average is each test's own, under its profile."
            : `Average: ${body.average.label} (${body.average.source}).`}
        </p>
      </Panel>
      <Panel title="Meters that cannot be had or tested">
        <DefinitionList
          items={[
            { term: "No test possible counts", value: untestableNames[body.untestable.counts].toLowerCase() },
            { term: "Because", value: body.untestable.reason },
            {
              term: "Replaced by a spare",
              value: replacement.allowed
                ? replacement.reasons.map((reason) => absenceReasonNames[reason].toLowerCase()).join(", ")
                : "never",
            },
            { term: "Spares drawn", value: `${replacement.sparesPercent} % of the sample` },
          ]}
        />
      </Panel>
      {body.notes.length === 0 ? null : (
        <Panel title="Notes">
          <ul>
            {body.notes.map((note) => (
              <li key={note}>{note}</li>
            ))}
          </ul>
        </Panel>
      )}
      <Panel title="Revisions">
        <ul>
          {scheme.revisions.map((revision) => (
            <li key={revision.id}>
              {revision.id === scheme.id ? (
                `Revision ${revision.revision}, shown here`
              ) : (
                <Link to={paths.scheme(revision.id)}>Revision {revision.revision}</Link>
              )}
              : {revision.name}
            </li>
          ))}
        </ul>
      </Panel>
    </div>
  );
}
