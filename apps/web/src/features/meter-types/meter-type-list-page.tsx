import { listMeterTypes } from "@sealbook/contract/meter-types";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
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
          { heading: "Elements", decimal: (type) => type.elements, isNarrowHidden: true },
          { heading: "CL", decimal: (type) => type.classAmperes },
          { heading: "TA", decimal: (type) => type.testAmperes, isNarrowHidden: true },
          { heading: "Volts", decimal: (type) => type.designVolts, isNarrowHidden: true },
          { heading: "Kh", decimal: (type) => type.kh },
          { heading: "Kt", decimal: (type) => type.kt, isNarrowHidden: true },
          { heading: "Accuracy class", decimal: (type) => type.accuracyClass, isMediumHidden: true },
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
        empty={
          <Empty title="No type is on record yet.">{mayManage ? "Add one from a nameplate." : null}</Empty>
        }
      />
    </div>
  );
}
