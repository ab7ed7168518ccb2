import { listMeterTypes } from "@sealbook/contract/meter-types";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { AlignedDecimal } from "../../ui/aligned-decimal.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";

/** Types of meters: what every nameplate of the kind says, once. */
export function MeterTypeListPage() {
  const mayManage = useMay("meterType.manage");
  return (
    <div className="stack">
      <PageHeader
        title="Meter types"
        note="What the nameplate of every meter of a kind says."
        actions={mayManage ? <ButtonLink to={paths.newType()}>Add a type</ButtonLink> : undefined}
      />
      <PagedTable
        operation={listMeterTypes}
        input={{}}
        caption="Meter types by maker and model"
        noun={["type", "types"]}
        rowKey={(type) => type.id}
        isQuiet={(type) => type.retired}
        columns={[
          {
            heading: "Maker and model",
            isRowHeader: true,
            cell: (type) => (
              <>
                <Link to={paths.type(type.id)}>
                  {type.maker} {type.model}
                </Link>
                {type.retired ? ", retired" : ""}
              </>
            ),
          },
          { heading: "Form", cell: (type) => type.form },
          {
            heading: "Elements",
            cell: (type) => <AlignedDecimal text={type.elements} places={1} />,
            isNumeric: true,
            isNarrowHidden: true,
          },
          { heading: "CL", cell: (type) => type.classAmperes, isNumeric: true },
          {
            heading: "TA",
            cell: (type) => <AlignedDecimal text={type.testAmperes} places={1} />,
            isNumeric: true,
            isNarrowHidden: true,
          },
          { heading: "Volts", cell: (type) => type.designVolts, isNumeric: true, isNarrowHidden: true },
          { heading: "Kh", cell: (type) => <AlignedDecimal text={type.kh} places={2} />, isNumeric: true },
          {
            heading: "Kt",
            cell: (type) => (type.kt === null ? "–" : <AlignedDecimal text={type.kt} places={3} />),
            isNumeric: true,
            isNarrowHidden: true,
          },
          {
            heading: "Accuracy class",
            cell: (type) => type.accuracyClass,
            isNumeric: true,
            isNarrowHidden: true,
          },
          { heading: "Plan", cell: (type) => type.testPlanCode, isNowrap: true, isNarrowHidden: true },
          {
            heading: "Meters",
            isNumeric: true,
            cell: (type) => (
              <Link to={paths.meters()} search={{ typeId: type.id }}>
                {type.meters}
              </Link>
            ),
          },
        ]}
        empty={<Empty title="No type is on record yet.">Add one from a nameplate.</Empty>}
      />
    </div>
  );
}
