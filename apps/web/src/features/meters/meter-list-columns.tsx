import { type MeterColumn, meterColumnNames } from "@sealbook/contract/meter-list";
import { type MeterRow, meterStateNames } from "@sealbook/contract/meters";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { VerdictMark } from "../../trade/verdict-mark.tsx";
import type { Column } from "../../ui/data-table.tsx";
import { StatusMark } from "../../ui/status-mark.tsx";

const quietDash = <span className="quiet">–</span>;

/** How each column of the list shows a meter; the number always leads to it. */
export function meterListColumns(chosen: readonly MeterColumn[], today: string): Column<MeterRow>[] {
  const looks: Record<
    MeterColumn,
    Omit<Column<MeterRow> & { cell: (row: MeterRow) => unknown }, "heading">
  > = {
    utilityNumber: {
      isRowHeader: true,
      isNowrap: true,
      cell: (meter) => <Link to={paths.meter(meter.id)}>{meter.utilityNumber}</Link>,
    },
    serial: { cell: (meter) => meter.serial, isNowrap: true, isNarrowHidden: true },
    maker: { cell: (meter) => meter.maker, isNarrowHidden: true },
    model: { cell: (meter) => meter.model },
    form: { cell: (meter) => meter.form },
    owner: { cell: (meter) => (meter.owner === "utility" ? "Utility" : "Customer") },
    state: { cell: (meter) => meterStateNames[meter.state], isNowrap: true },
    place: { cell: (meter) => meter.place, isNarrowHidden: true },
    setOn: { cell: (meter) => meter.setOn ?? quietDash, isNowrap: true, isNarrowHidden: true },
    lastTestOn: { cell: (meter) => meter.lastTestOn ?? quietDash, isNowrap: true, isNarrowHidden: true },
    lastVerdict: {
      cell: (meter) =>
        meter.lastVerdict === null ? (
          <span className="quiet">not tested</span>
        ) : (
          <VerdictMark verdict={meter.lastVerdict} />
        ),
    },
    dueOn: {
      isNowrap: true,
      cell: ({ dueOn }) => {
        if (dueOn === null) return quietDash;
        return dueOn < today ? <StatusMark tone="bad">{dueOn}, late</StatusMark> : dueOn;
      },
    },
  };
  return chosen.map(
    (column) => ({ heading: meterColumnNames[column], ...looks[column] }) as Column<MeterRow>,
  );
}
