import type { ShipmentMapping } from "@sealbook/contract/imports";

/**
 * A maker's list of a shipment as CSV, the same at every call with the same seed. Makers and numbers are invented. With
 * `spoil`, a dozen rows are bad on purpose, each in a way of its own.
 */
export interface MakerListOptions {
  /** Rows below the headings; at least 100 where some are bad. */
  readonly rows: number;
  /** Any whole number from 1 up to 2 147 483 646. */
  readonly seed: number;
  /** Begins each serial and utility number, so that lists of one shop do not meet. */
  readonly prefix: string;
  readonly spoil: null | {
    /** Serial of this maker's meter on record, of another type. */
    readonly serialOfOtherType: string;
    /** Utility number of a meter on record. */
    readonly numberTaken: string;
  };
}

/** Columns of the list and what each means. */
export const makerListColumns = {
  "Serial no": "serial",
  Badge: "utilityNumber",
  "Fw rev": "firmware",
  Prog: "program",
  "Invoice date": "purchasedOn",
  "FL err %": "fullLoad",
  "LL err %": "lightLoad",
  "PF err %": "powerFactor",
} as const satisfies ShipmentMapping["columns"];

/** The list is written with semicolons, decimal commas and days first; its figures are percent errors. */
export const makerListMapping: ShipmentMapping = {
  kind: "shipment-meters",
  format: 1,
  separator: ";",
  decimalMark: ",",
  figures: "error",
  dateOrder: "day-month-year",
  columns: makerListColumns,
};

type Heading = keyof typeof makerListColumns;
type Cells = Record<Heading, string>;

export interface MakerList {
  readonly csv: string;
  /** Rows as they should stand, by record number: the headings are record 1. */
  readonly right: ReadonlyMap<number, Cells>;
  /** What is wrong with the bad rows: the code that the service gives each, and the column it names. */
  readonly bad: readonly { readonly rowNumber: number; readonly code: string; readonly column: string }[];
}

type Way = readonly [
  code: string,
  column: Heading | "",
  spoil: (cells: Cells, above: Cells, known: NonNullable<MakerListOptions["spoil"]>) => readonly string[],
];

const change = (cells: Cells, over: Partial<Cells>) => Object.values({ ...cells, ...over });

/** The twelve ways in which a row is bad. */
const badWays: readonly Way[] = [
  ["serial-missing", "Serial no", (cells) => change(cells, { "Serial no": " " })],
  ["malformed", "Serial no", (cells) => change(cells, { "Serial no": "9".repeat(41) })],
  ["malformed", "Badge", (cells) => change(cells, { Badge: "7".repeat(41) })],
  ["unknown-meter", "Badge", (cells) => change(cells, { Badge: "" })],
  ["duplicate-in-file", "Serial no", (cells, above) => change(cells, { "Serial no": above["Serial no"] })],
  ["duplicate-in-file", "Badge", (cells, above) => change(cells, { Badge: above.Badge })],
  [
    "other-type",
    "Serial no",
    (cells, _above, known) => change(cells, { "Serial no": known.serialOfOtherType, Badge: "" }),
  ],
  ["number-taken", "Badge", (cells, _above, known) => change(cells, { Badge: known.numberTaken })],
  // There is no 30 February, and nothing is bought after the shipment came.
  ["bad-date", "Invoice date", (cells) => change(cells, { "Invoice date": "30.02.2026" })],
  ["bad-date", "Invoice date", (cells) => change(cells, { "Invoice date": "01.01.2099" })],
  ["not-a-number", "LL err %", (cells) => change(cells, { "LL err %": "0,1x" })],
  ["wrong-column-count", "", (cells) => [...Object.values(cells), "left over"]],
];

export function makerList({ rows, seed, prefix, spoil }: MakerListOptions): MakerList {
  const random = randomFrom(seed);
  const every = Math.floor(rows / (badWays.length + 1));
  const right = new Map<number, Cells>();
  const bad: { rowNumber: number; code: string; column: string }[] = [];
  const lines: (readonly string[])[] = [Object.keys(makerListColumns)];
  let above: Cells | null = null;
  for (let index = 0; index < rows; index++) {
    const rowNumber = index + 2;
    const cells = cellsOf(index, prefix, random);
    right.set(rowNumber, cells);
    const way = index % every === every - 1 ? badWays[Math.floor(index / every)] : undefined;
    if (spoil !== null && way !== undefined && above !== null) {
      lines.push(way[2](cells, above, spoil));
      bad.push({ rowNumber, code: way[0], column: way[1] });
    } else lines.push(Object.values(cells));
    above = cells;
  }
  return {
    // No cell holds a semicolon, a quote or a line's end, so none is quoted.
    csv: `${lines.map((cells) => cells.join(";")).join("\r\n")}\r\n`,
    right,
    bad,
  };
}

/** A row's cells: serial and badge by place, figures within half a percent of zero by chance. */
function cellsOf(index: number, prefix: string, random: (below: number) => number): Cells {
  const errorPercent = () => {
    const hundredths = random(101) - 50;
    const sign = hundredths < 0 ? "-" : "";
    return `${sign}0,${String(Math.abs(hundredths)).padStart(2, "0")}`;
  };
  const place = String(index + 1).padStart(5, "0");
  return {
    "Serial no": `${prefix}-${place}`,
    Badge: `${prefix}${place}`,
    "Fw rev": "4.2",
    Prog: "R1",
    "Invoice date": `${String(1 + random(28)).padStart(2, "0")}.10.2026`,
    "FL err %": errorPercent(),
    "LL err %": errorPercent(),
    "PF err %": errorPercent(),
  };
}

/**
 * Whole numbers from 0 up to below a bound, the same for the same seed.
 *
 * @source S. K. Park and K. W. Miller, "Random number generators: good ones are hard to find", CACM 31 (1988): the
 *   minimal standard generator, multiplier 16807, modulus 2^31 - 1
 */
function randomFrom(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (state * 16_807) % 2_147_483_647;
    return state % below;
  };
}
