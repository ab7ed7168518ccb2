import type { FigureAddress } from "@sealbook/metrology/reports/test-counter";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";

/** A number of a report that opens the tests behind it; nought stands alone. */
export function FigureLink({
  reportId,
  count,
  dimension,
  rowKey,
  figure,
  says,
}: {
  reportId: string;
  count: number;
  dimension: FigureAddress["dimension"];
  rowKey: string;
  figure: string;
  /** What the number counts, for whoever hears the page. */
  says: string;
}) {
  if (count === 0) return <span className="quiet">0</span>;
  return (
    <Link
      to={paths.reportTests(reportId)}
      search={{ by: dimension, row: rowKey, figure }}
      aria-label={`${count}: ${says}`}
    >
      {count}
    </Link>
  );
}
