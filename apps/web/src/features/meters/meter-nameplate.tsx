import { type Meter, ownerNames } from "@sealbook/contract/meters";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { Nameplate } from "../../trade/nameplate.tsx";
import { NameplateFindings } from "../../trade/nameplate-findings.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { RulesOf } from "./rules-of.tsx";

/** A meter's own particulars, its type's nameplate, and what does not fit together. */
export function MeterNameplate({ meter }: { meter: Meter }) {
  const { servicePoint } = meter;
  return (
    <div className="stack">
      <Nameplate
        type={meter.type}
        before={[
          { term: "Utility number", value: meter.utilityNumber },
          { term: "Maker's serial", value: meter.serial },
        ]}
      />
      <NameplateFindings type={meter.type} />
      <DefinitionList
        items={[
          { term: "Owner", value: ownerNames[meter.owner] },
          { term: "Seals", value: meter.seals.length === 0 ? "none known" : meter.seals.join(", ") },
          { term: "Firmware", value: meter.firmware === "" ? "–" : meter.firmware },
          { term: "Program", value: meter.program === "" ? "–" : meter.program },
          { term: "Purchased", value: meter.purchasedOn ?? "–" },
          {
            term: "Service point",
            value:
              servicePoint === null
                ? "none"
                : `${servicePoint.number}, ${servicePoint.address}, ${servicePoint.area}`,
          },
          { term: "Rules of", value: <RulesOf jurisdiction={meter.jurisdiction} /> },
          { term: "Type", value: <Link to={paths.type(meter.type.id)}>Open the type</Link> },
          {
            term: "On record by",
            value: (
              <>
                <Link to={paths.ledgerEntry(meter.entryId)}>ledger entry</Link>,{" "}
                <Link to={paths.ledger()} search={{ subjectId: meter.id }}>
                  all entries
                </Link>
              </>
            ),
          },
        ]}
      />
    </div>
  );
}
