import {
  type FlagRule,
  flagRuleNames,
  type InventoryFlag,
  listInventoryFlags,
} from "@sealbook/contract/inventory-flags";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PagedTable } from "../../trade/paged-table.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { LookThrough } from "./look-through.tsx";
import { SettleDialog } from "./settle-dialog.tsx";

const stateNames = { open: "To settle", settled: "Settled", gone: "No longer so" } as const;
const states = Object.keys(stateNames) as (keyof typeof stateNames)[];
const rules = Object.keys(flagRuleNames) as FlagRule[];

/** What does not fit in the inventory: each finding is corrected, or said to be right with a reason. */
export function ToSettlePage() {
  const [search, change] = useSearchText();
  const [settling, setSettling] = useState<InventoryFlag | null>(null);
  const rights = [useMay("inventoryFlag.settle"), useMay("meter.change"), useMay("meterType.manage")];
  const mayAct = rights.includes(true);
  const state = states.find((one) => one === search.state) ?? "open";
  const rule = rules.find((one) => one === search.rule);
  return (
    <div className="stack">
      <PageHeader
        title="To settle"
        note="Duplicates and figures that do not fit. What is settled is never raised again."
      />
      <LookThrough />
      <div className="row-fields">
        <Select
          label="State"
          value={state}
          onChange={(next) => change({ state: next === "open" ? "" : next })}
          options={states.map((one) => ({ value: one, label: stateNames[one] }))}
        />
        <Select
          label="What does not fit"
          value={rule ?? ""}
          onChange={(next) => change({ rule: next })}
          placeholder="Anything"
          options={rules.map((one) => ({ value: one, label: flagRuleNames[one] }))}
        />
      </div>
      <PagedTable
        operation={listInventoryFlags}
        input={{ query: { state, rule } }}
        caption="Findings in the inventory"
        noun={["finding", "findings"]}
        rowKey={(flag) => String(flag.number)}
        columns={[
          { heading: "About", isRowHeader: true, isNowrap: true, cell: (flag) => <About flag={flag} /> },
          { heading: "What was found", cell: (flag) => <Finding flag={flag} /> },
          {
            heading: "Found",
            isNowrap: true,
            isMediumHidden: true,
            cell: (flag) => <LocalInstant instant={flag.foundAt} />,
          },
          ...(mayAct
            ? [
                {
                  heading: "Settle",
                  cell: (flag: InventoryFlag) => <Settle flag={flag} onSettle={() => setSettling(flag)} />,
                },
              ]
            : []),
        ]}
        empty={
          state === "open" ? (
            <Empty title="Nothing waits to be settled." />
          ) : (
            <Empty title="There is no such finding." />
          )
        }
      />
      {settling === null ? null : <SettleDialog flag={settling} onDone={() => setSettling(null)} />}
    </div>
  );
}

function About({ flag: { meter, type } }: { flag: InventoryFlag }) {
  if (meter !== null) return <Link to={paths.meter(meter.id)}>{meter.utilityNumber}</Link>;
  return type === null ? null : <Link to={paths.type(type.id)}>{type.name}</Link>;
}

function Finding({ flag }: { flag: InventoryFlag }) {
  return (
    <div className="stack-tight">
      <span>{flag.sentence}</span>
      {flag.others.length === 0 ? null : (
        <span>
          {"Also: "}
          {flag.others.map((other, index) => (
            <span key={other.id}>
              {index === 0 ? "" : ", "}
              <Link to={paths.meter(other.id)}>
                {other.utilityNumber} ({other.maker})
              </Link>
            </span>
          ))}
        </span>
      )}
      {flag.settlement === null ? null : (
        <span className="quiet small">
          Right as it is, says <PersonName person={flag.settlement.by} />: {flag.settlement.reason} ·{" "}
          <Link to={paths.ledgerEntry(flag.settlement.entryId)}>ledger entry</Link>
        </span>
      )}
    </div>
  );
}

function Settle({ flag, onSettle }: { flag: InventoryFlag; onSettle: () => void }) {
  const maySettle = useMay("inventoryFlag.settle");
  const mayChangeMeter = useMay("meter.change");
  const mayChangeType = useMay("meterType.manage");
  if (flag.state !== "open") return <span className="quiet">{stateNames[flag.state]}</span>;
  const about = flag.meter?.utilityNumber ?? flag.type?.name ?? "";
  return (
    <div className="row">
      {flag.meter !== null && mayChangeMeter ? (
        <ButtonLink to={paths.editMeter(flag.meter.id)} aria-label={`Correct ${about}`}>
          Correct
        </ButtonLink>
      ) : null}
      {flag.type !== null && mayChangeType ? (
        <ButtonLink to={paths.editType(flag.type.id)} aria-label={`Correct ${about}`}>
          Correct
        </ButtonLink>
      ) : null}
      {maySettle ? (
        <Button onClick={onSettle} aria-label={`It is right: ${about}`}>
          It is right
        </Button>
      ) : null}
    </div>
  );
}
