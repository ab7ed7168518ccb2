import { z } from "zod";
import { dateSchema, idSchema, pageOf, pageQuery } from "./common.ts";
import { meterRowSchema, meterStates, owners, verdicts } from "./meters.ts";
import { operation } from "./operation.ts";

/** Orders of the list. Meters without the date come last in either direction; ties go by id. */
export const meterOrders = ["number", "last-test", "last-test-newest", "due"] as const;
export type MeterOrder = (typeof meterOrders)[number];
export const meterOrderNames: Record<MeterOrder, string> = {
  number: "Number",
  "last-test": "Last test, oldest first",
  "last-test-newest": "Last test, newest first",
  due: "Due date, soonest first",
};

/** How soon a meter's periodic test is due, counted from the shop's today. */
export const dueWithin = ["late", "30-days", "90-days", "365-days", "no-date"] as const;
export const dueWithinNames: Record<(typeof dueWithin)[number], string> = {
  late: "Late",
  "30-days": "Within 30 days or late",
  "90-days": "Within 90 days or late",
  "365-days": "Within a year or late",
  "no-date": "No due date",
};

/** Filters of the list of meters; all that are given hold at once. */
export const meterFilters = {
  q: z.string().max(80).optional().describe("Any part of a utility number or serial"),
  state: z.enum(meterStates).optional(),
  typeId: idSchema.optional(),
  maker: z.string().max(80).optional().describe("Maker's name, exactly"),
  form: z.string().max(10).optional().describe("ANSI form, such as 9S"),
  owner: z.enum(owners).optional(),
  placeId: idSchema.optional().describe("Where the meter is now"),
  area: z.string().max(80).optional().describe("Area of the service point where the meter is, exactly"),
  lotId: idSchema.optional().describe("Shipment or group in service that the meter belongs to"),
  lastVerdict: z
    .enum([...verdicts, "not-tested"])
    .optional()
    .describe("Last test as found"),
  testedFrom: dateSchema.optional().describe("Last test on this day or later, local date of the shop"),
  testedTo: dateSchema.optional().describe("Last test on this day or before"),
  due: z.enum(dueWithin).optional(),
  setYear: z.coerce
    .number()
    .int()
    .min(1900)
    .max(2999)
    .optional()
    .describe("Year of the last setting at a service point"),
};

export const meterFilterSchema = z.object(meterFilters);
export type MeterFilter = z.infer<typeof meterFilterSchema>;

export const listMeters = operation({
  id: "meters.list",
  summary: "Meters, filtered and ordered",
  method: "GET",
  path: "/meters",
  permission: "meter.read",
  query: z.object({ ...pageQuery, ...meterFilters, order: z.enum(meterOrders).default("number") }),
  reply: pageOf(meterRowSchema),
});

/** Counts go so far and no further: nobody waits for five million rows to be counted. */
export const countedAtMost = 10_000;

export const countMeters = operation({
  id: "meters.count",
  summary: "How many meters the filters leave, exactly up to 10,000",
  method: "GET",
  path: "/meters/count",
  permission: "meter.read",
  query: meterFilterSchema,
  reply: z.object({
    count: z.int().max(countedAtMost),
    more: z.boolean().describe("There are more than this count"),
  }),
});

/** What the list, and a file made of it, can show of a meter. */
export const meterColumns = [
  "utilityNumber",
  "serial",
  "maker",
  "model",
  "form",
  "owner",
  "state",
  "place",
  "setOn",
  "lastTestOn",
  "lastVerdict",
  "dueOn",
] as const;
export type MeterColumn = (typeof meterColumns)[number];
export const meterColumnNames: Record<MeterColumn, string> = {
  utilityNumber: "Number",
  serial: "Serial",
  maker: "Maker",
  model: "Model",
  form: "Form",
  owner: "Owner",
  state: "State",
  place: "Place",
  setOn: "Set on",
  lastTestOn: "Last test",
  lastVerdict: "As found",
  dueOn: "Due on",
};

/** What a file shows beyond the list's columns. */
export const exportColumns = [
  ...meterColumns,
  "classAmperes",
  "kh",
  "area",
  "lastAveragePercent",
  "lastAverageErrorPercent",
] as const;
export type ExportColumn = (typeof exportColumns)[number];
export const exportColumnNames: Record<ExportColumn, string> = {
  ...meterColumnNames,
  classAmperes: "Class, A",
  kh: "Kh, Wh",
  area: "Area",
  lastAveragePercent: "Average as found, % registration",
  lastAverageErrorPercent: "Average as found, % error",
};

export const exportFormats = ["csv", "csv-with-mark", "xlsx"] as const;
export type ExportFormat = (typeof exportFormats)[number];
export const exportFormatNames: Record<ExportFormat, string> = {
  csv: "CSV",
  "csv-with-mark": "CSV for spreadsheets (with byte order mark)",
  xlsx: "Spreadsheet (.xlsx)",
};

export const exportMeters = operation({
  id: "meters.export",
  summary:
    "The filtered meters as a file; who took which filter out, and how many rows, goes into the ledger",
  method: "GET",
  path: "/meters/export",
  permission: "meter.export",
  query: z.object({
    ...meterFilters,
    order: z.enum(meterOrders).default("number"),
    format: z.enum(exportFormats),
    columns: z
      .string()
      .max(400)
      .refine(
        (text) => text.split(",").every((one) => (exportColumns as readonly string[]).includes(one)),
        "names columns of the file, separated by commas",
      )
      .optional()
      .describe("Columns in their order, separated by commas; all when absent"),
  }),
  reply: "file",
  problems: ["too-large", "too-many-requests"],
});

export const meterListOperations = [listMeters, countMeters, exportMeters];
