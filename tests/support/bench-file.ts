/**
 * A bench's export as CSV, the same at every call: rows of meters tested at three points, of which some are bad on
 * purpose, in ten different ways. Names of people, meters and standards come from the caller's shop.
 */
export interface BenchFileOptions {
  /** Rows below the headings; at least 400. */
  readonly rows: number;
  /** Utility numbers of meters on record, at least 20; each is tested again and again, minutes apart. */
  readonly meterNumbers: readonly string[];
  /** Sign-in names or printed names of people who tested. */
  readonly testers: readonly string[];
  /** Designation of a standard in calibration on all of the days. */
  readonly standard: string;
  /** Designation of a standard that is overdue on all of the days. */
  readonly overdueStandard: string;
  /** First day of the tests, ISO 8601; at a row a minute, eight hours a day, ten thousand rows take 21 days. */
  readonly firstDay: string;
}

/** What is wrong with a bad row: the code that the service gives it, and the column it names. */
interface BadRow {
  /** Record number: the headings are record 1. */
  readonly rowNumber: number;
  readonly code: string;
  readonly column: string;
}

interface BenchRow {
  readonly rowNumber: number;
  readonly meterNumber: string;
  /** Local date and time as it stands in the file. */
  readonly date: string;
  readonly time: string;
  readonly tester: string;
  /** Figures in percent registration as they stand in the file. */
  readonly figures: { readonly FL: string; readonly LL: string; readonly PF: string };
}

export interface BenchFile {
  readonly csv: string;
  readonly good: readonly BenchRow[];
  readonly bad: readonly BadRow[];
}

/** Columns of the file and what each means; reasons and creep in the bench's own words. */
export const benchMapping = {
  kind: "meter-tests",
  format: 1,
  separator: ",",
  decimalMark: ".",
  columns: {
    "Meter no": "meterNumber",
    Date: "performedDate",
    Time: "performedTime",
    Operator: "tester",
    Purpose: "reason",
    "Ref std": "standard",
    "FL reg": "FL.asFound",
    "LL reg": "LL.asFound",
    "PF reg": "PF.asFound",
    Creep: "creep",
    Note: "remarks",
  },
  figures: "registration",
  energyUnit: "Wh",
  dateOrder: "iso",
  timeZone: "America/New_York",
  planCode: null,
  standardDesignation: null,
  errorAppliedByBench: true,
  reasons: { ROUTINE: "periodic", REMOVED: "removal" },
  defaultReason: null,
  noTestPossible: {},
  creepWords: { no: "none", yes: "creeps" },
} as const;

type Cells = Record<keyof typeof benchMapping.columns, string>;

/** The ten ways, and how many rows each spoils in a file: 37 together. */
export const badWays: readonly {
  readonly code: string;
  readonly column: keyof typeof benchMapping.columns | "";
  readonly rows: number;
  /** The spoilt row as it stands in the file; gets the cells of this row and of the one above it. */
  spoil(cells: Cells, above: Cells, options: BenchFileOptions): string;
}[] = [
  way("unknown-meter", "Meter no", 6, (cells) => ({ ...cells, "Meter no": `X${cells["Meter no"]}` })),
  way("bad-date", "Date", 4, (cells) => ({ ...cells, Date: `${cells.Date.slice(0, 4)}-02-30` })),
  way("unknown-tester", "Operator", 3, (cells) => ({ ...cells, Operator: "Nobody Known" })),
  way("unknown-reason", "Purpose", 3, (cells) => ({ ...cells, Purpose: "WHIM" })),
  way("standard-overdue", "Ref std", 4, (cells, _above, options) => ({
    ...cells,
    "Ref std": options.overdueStandard,
  })),
  way("not-a-number", "FL reg", 5, (cells) => ({ ...cells, "FL reg": "99.9?" })),
  way("implausible-figure", "LL reg", 3, (cells) => ({ ...cells, "LL reg": "0.12" })),
  way("unknown-word", "Creep", 2, (cells) => ({ ...cells, Creep: "perhaps" })),
  way("duplicate-in-file", "Meter no", 4, (cells, above) => ({
    ...cells,
    "Meter no": above["Meter no"],
    Date: above.Date,
    Time: above.Time,
  })),
  { code: "wrong-column-count", column: "", rows: 3, spoil: (cells) => `${line(cells)},left over` },
];

function way(
  code: string,
  column: keyof typeof benchMapping.columns,
  rows: number,
  spoil: (cells: Cells, above: Cells, options: BenchFileOptions) => Cells,
): (typeof badWays)[number] {
  return { code, column, rows, spoil: (cells, above, options) => line(spoil(cells, above, options)) };
}

const minutesApart = 1;

export function benchFile(options: BenchFileOptions): BenchFile {
  if (options.rows < 400) throw new RangeError(`37 bad rows need room: ask for at least 400 rows`);
  if (options.meterNumbers.length < 20) throw new RangeError("a file of one meter is none: give at least 20");
  const plan = badWays.flatMap((bad) => Array.from({ length: bad.rows }, () => bad));
  const every = Math.floor(options.rows / (plan.length + 1));
  const lines = [Object.keys(benchMapping.columns).join(",")];
  const good: BenchRow[] = [];
  const bad: BadRow[] = [];
  let above: Cells | null = null;
  for (let index = 0; index < options.rows; index++) {
    const cells = cellsOf(index, options);
    const rowNumber = index + 2;
    const spoiler = index % every === every - 1 ? plan[Math.floor(index / every)] : undefined;
    if (spoiler !== undefined && above !== null) {
      lines.push(spoiler.spoil(cells, above, options));
      bad.push({ rowNumber, code: spoiler.code, column: spoiler.column });
    } else {
      lines.push(line(cells));
      good.push({
        rowNumber,
        meterNumber: cells["Meter no"],
        date: cells.Date,
        time: cells.Time,
        tester: cells.Operator,
        figures: { FL: cells["FL reg"], LL: cells["LL reg"], PF: cells["PF reg"] },
      });
    }
    above = cells;
  }
  return { csv: `${lines.join("\r\n")}\r\n`, good, bad };
}

/** A row's cells from its place alone: figures within half a percent of 100, in hundredths. */
function cellsOf(index: number, options: BenchFileOptions): Cells {
  const pick = <Item>(items: readonly Item[]): Item => items[index % items.length] as Item;
  // Days of 08:00 to 16:00, away from the hour at which clocks change.
  const slots = (8 * 60) / minutesApart;
  const day = new Date(Date.parse(`${options.firstDay}T00:00:00Z`) + Math.floor(index / slots) * 86_400_000);
  const minute = 8 * 60 + (index % slots) * minutesApart;
  const two = (value: number) => String(value).padStart(2, "0");
  const hundredths = (salt: number) => 9_950 + ((index * 7 + salt * 31) % 101);
  const percent = (salt: number) => {
    const value = hundredths(salt);
    return `${Math.floor(value / 100)}.${two(value % 100)}`;
  };
  return {
    "Meter no": pick(options.meterNumbers),
    Date: day.toISOString().slice(0, 10),
    Time: `${two(Math.floor(minute / 60))}:${two(minute % 60)}`,
    Operator: pick(options.testers),
    Purpose: index % 3 === 0 ? "REMOVED" : "ROUTINE",
    "Ref std": options.standard,
    "FL reg": percent(1),
    "LL reg": percent(2),
    "PF reg": percent(3),
    Creep: "no",
    Note: index % 50 === 0 ? 'cover cracked, "old" gasket' : "",
  };
}

function line(cells: Cells): string {
  return Object.values(cells)
    .map((cell) => (/[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell))
    .join(",");
}
