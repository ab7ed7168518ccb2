import { z } from "zod";
import {
  idParams,
  idSchema,
  instantSchema,
  lineSchema,
  pageOf,
  pageQuery,
  personRefSchema,
} from "./common.ts";
import { fileSchema } from "./files.ts";
import { operation } from "./operation.ts";
import type { Permission } from "./permissions.ts";

// An import takes a file's rows into the book: the tests that a bench has written, the meters of a shipment as their
// maker lists them, or what another book of the utility's holds of its inventory. All kinds go the same way: a mapping
// says what the columns mean, a dry run what would go in.

/** Files of the inventory: what another book of the utility's holds of types, service points, meters and their events. */
export const inventoryKinds = ["meter-types", "service-points", "meters", "meter-events"] as const;
export type InventoryKind = (typeof inventoryKinds)[number];

export const importKinds = ["meter-tests", "shipment-meters", ...inventoryKinds] as const;
export type ImportKind = (typeof importKinds)[number];
export const importKindNames: Record<ImportKind, string> = {
  "meter-tests": "Tests of a bench",
  "shipment-meters": "Maker's list of a shipment",
  "meter-types": "Meter types",
  "service-points": "Service points",
  meters: "Meters",
  "meter-events": "Events of meters",
};

export function isInventoryKind(kind: ImportKind): kind is InventoryKind {
  return inventoryKinds.some((inventoryKind) => inventoryKind === kind);
}

/** What a file of each kind puts into the book, and so who may take it in; beside the permission to import at all. */
export const importKindPermissions: Record<ImportKind, Permission> = {
  "meter-tests": "meterTest.record",
  "shipment-meters": "shipment.receive",
  "meter-types": "meterType.manage",
  "service-points": "servicePoint.manage",
  meters: "meter.create",
  "meter-events": "meter.move",
};

/** How a file of any kind is written. */
const fileTerms = {
  format: z.literal(1),
  separator: z.enum([",", ";", "\t", "|"]),
  decimalMark: z.enum([".", ","]),
  figures: z
    .enum(["registration", "error", "correction"])
    .describe("What a figure is: percent registration, percent error, or correction"),
  dateOrder: z.enum(["iso", "day-month-year", "month-day-year"]),
};

const columnsOf = <Field extends z.ZodType<string>>(field: Field) =>
  z
    .record(z.string().max(120), field)
    .describe("Column heading -> field; columns that are absent are ignored");

/**
 * What a column of a bench's file can mean. Fields for points carry the point's key: "FL.asFound" is the full-load
 * figure as found, in the mapping's sign convention; "FL.counts" and "FL.standardEnergy" are as found, too.
 *
 * A row without figures as left says that nothing was adjusted. Where no column names the tester, whoever has the file
 * taken in counts as the tester. "creep" is as found, "creepAsLeft" as left, both in the mapping's words for creep. Seals are separated by commas or semicolons inside their cell.
 */
export const testFieldSchema = z
  .string()
  .regex(
    /^(meterNumber|serial|performedAt|performedDate|performedTime|tester|reason|standard|planCode|remarks|readingBefore|readingAfter|creep|creepAsLeft|noTestPossible|volts|amperes|temperature|adjustment|sealsApplied|sealsRemoved|[A-Z0-9][A-Z0-9-]{0,11}\.(asFound|asLeft|counts|standardEnergy))$/,
    "unknown field",
  );

export const testMappingSchema = z.strictObject({
  kind: z.literal("meter-tests"),
  ...fileTerms,
  columns: columnsOf(testFieldSchema),
  energyUnit: z.enum(["Wh", "kWh"]),
  timeZone: z.string().max(60).describe("IANA zone of times without an offset"),
  planCode: z.string().max(40).nullable().describe("Plan for every row; null takes each type's own plan"),
  standardDesignation: z.string().max(40).nullable().describe("Standard for every row; null needs a column"),
  errorAppliedByBench: z.boolean().describe("Did the bench already apply the standard's certified error?"),
  reasons: z.record(z.string().max(80), z.string().max(40)).describe("The file's word for a reason -> ours"),
  defaultReason: z.string().max(40).nullable(),
  noTestPossible: z
    .record(z.string().max(80), z.string().max(40))
    .describe("The file's word for an untestable meter -> ours"),
  creepWords: z.record(z.string().max(80), z.enum(["none", "creeps", "not-checked"])),
});
export type TestMapping = z.infer<typeof testMappingSchema>;

/** The maker's own results that a list may hold, in the mapping's sign convention; for information, they decide nothing. */
export const makerResultFields = ["fullLoad", "lightLoad", "powerFactor", "average"] as const;
export type MakerResultField = (typeof makerResultFields)[number];
export const makerResultFieldNames: Record<MakerResultField, string> = {
  fullLoad: "Full load",
  lightLoad: "Light load",
  powerFactor: "Power factor",
  average: "Average",
};

/** What a column of a maker's list can mean. */
export const shipmentFields = [
  "serial",
  "utilityNumber",
  "firmware",
  "program",
  "purchasedOn",
  ...makerResultFields,
] as const;
export type ShipmentField = (typeof shipmentFields)[number];

export const shipmentMappingSchema = z.strictObject({
  kind: z.literal("shipment-meters"),
  ...fileTerms,
  columns: columnsOf(z.enum(shipmentFields)),
});
export type ShipmentMapping = z.infer<typeof shipmentMappingSchema>;

/** What a column can mean in a file of each kind of inventory. */
export const inventoryFields = {
  "meter-types": [
    "maker",
    "model",
    "form",
    "phases",
    "wires",
    "elements",
    "classAmperes",
    "testAmperes",
    "voltsMin",
    "voltsMax",
    "designVolts",
    "kh",
    "kt",
    "accuracyClass",
    "technology",
    "registerDials",
    "registerMultiplier",
    "testPlanCode",
  ],
  "service-points": ["servicePoint", "address", "area", "jurisdiction"],
  meters: [
    "utilityNumber",
    "serial",
    "maker",
    "model",
    "form",
    "classAmperes",
    "owner",
    "firmware",
    "program",
    "purchasedOn",
    "place",
    "placedOn",
    "registerReading",
  ],
  "meter-events": [
    "utilityNumber",
    "serial",
    "maker",
    "eventKind",
    "performedAt",
    "performedDate",
    "performedTime",
    "place",
    "registerReading",
    "readingNote",
    "sealsOn",
    "sealsOff",
    "eventReason",
  ],
} as const satisfies Record<InventoryKind, readonly string[]>;
export type InventoryField = (typeof inventoryFields)[InventoryKind][number];

export const inventoryFieldNames: Record<InventoryField, string> = {
  maker: "Maker",
  model: "Model",
  form: "Form",
  phases: "Phases",
  wires: "Wires",
  elements: "Elements",
  classAmperes: "Class, A",
  testAmperes: "Test amperes",
  voltsMin: "Lowest rated voltage",
  voltsMax: "Highest rated voltage",
  designVolts: "Design voltage",
  kh: "Kh",
  kt: "Kt",
  accuracyClass: "Accuracy class",
  technology: "Technology",
  registerDials: "Dials of the register",
  registerMultiplier: "Multiplier of the register",
  testPlanCode: "Test plan's code",
  servicePoint: "Service point's number",
  address: "Address",
  area: "Area",
  jurisdiction: "Jurisdiction",
  utilityNumber: "Utility number",
  serial: "Maker's serial",
  owner: "Owner",
  firmware: "Firmware",
  program: "Program",
  purchasedOn: "Purchased on",
  place: "Place or service point",
  placedOn: "At its place since",
  registerReading: "Register reading",
  eventKind: "What happened",
  performedAt: "Date and time",
  performedDate: "Date",
  performedTime: "Time of day",
  readingNote: "What is said of the reading",
  sealsOn: "Seals put on",
  sealsOff: "Seals taken off",
  eventReason: "Why it happened",
};

/** Fields without which a file of each kind says too little. */
export const inventoryFieldsNeeded = {
  "meter-types": [
    "maker",
    "model",
    "form",
    "classAmperes",
    "testAmperes",
    "voltsMin",
    "voltsMax",
    "designVolts",
    "kh",
    "phases",
    "wires",
    "elements",
    "accuracyClass",
    "technology",
    "registerDials",
    "testPlanCode",
  ],
  "service-points": ["servicePoint", "address", "area", "jurisdiction"],
  meters: ["utilityNumber", "serial", "maker", "model", "place"],
  "meter-events": ["eventKind"],
} as const satisfies Record<InventoryKind, readonly InventoryField[]>;

function inventoryMapping<Kind extends InventoryKind>(kind: Kind) {
  return z.strictObject({
    kind: z.literal(kind),
    ...fileTerms,
    columns: columnsOf(z.enum(inventoryFields[kind] as readonly InventoryField[])),
  });
}

export const meterTypesMappingSchema = inventoryMapping("meter-types");
export const servicePointsMappingSchema = inventoryMapping("service-points");
export const metersMappingSchema = inventoryMapping("meters");
export const meterEventsMappingSchema = inventoryMapping("meter-events").extend({
  timeZone: z.string().max(60).describe("IANA zone of times without an offset"),
});
export type MeterTypesMapping = z.infer<typeof meterTypesMappingSchema>;
export type ServicePointsMapping = z.infer<typeof servicePointsMappingSchema>;
export type MetersMapping = z.infer<typeof metersMappingSchema>;
export type MeterEventsMapping = z.infer<typeof meterEventsMappingSchema>;
export type InventoryMapping = MeterTypesMapping | ServicePointsMapping | MetersMapping | MeterEventsMapping;

/** What the columns of a file mean; a mapping is of use for files of its own kind. */
export const importMappingBodySchema = z.discriminatedUnion("kind", [
  testMappingSchema,
  shipmentMappingSchema,
  meterTypesMappingSchema,
  servicePointsMappingSchema,
  metersMappingSchema,
  meterEventsMappingSchema,
]);
export type ImportMappingBody = z.infer<typeof importMappingBodySchema>;

export const importMappingSchema = z.object({
  id: idSchema,
  name: z.string(),
  body: importMappingBodySchema,
  version: z.int(),
});
export type ImportMapping = z.infer<typeof importMappingSchema>;

export const importStates = [
  "uploaded",
  "checking",
  "checked",
  "running",
  "done",
  "cancelled",
  "failed",
] as const;
export type ImportState = (typeof importStates)[number];
export const importStateNames: Record<ImportState, string> = {
  uploaded: "Uploaded",
  checking: "Dry run under way",
  checked: "Dry run done",
  running: "Going in",
  done: "Done",
  cancelled: "Cancelled",
  failed: "Failed",
};

export const importSchema = z.object({
  id: idSchema,
  kind: z.enum(importKinds),
  lot: z
    .object({ id: idSchema, number: z.string() })
    .nullable()
    .describe("The shipment that the meters of a maker's list enter; null for other kinds"),
  file: fileSchema,
  state: z.enum(importStates),
  mapping: importMappingSchema.nullable(),
  headings: z.array(z.string()).describe("First line of the file"),
  sample: z.array(z.array(z.string())).max(5).describe("First rows as they stand"),
  rowsTotal: z.int().nullable(),
  rowsDone: z.int().describe("Rows looked at in the present or last step"),
  rowsGood: z.int().describe("Rows that go in or went in"),
  rowsAlready: z.int().describe("Rows that are in the book already"),
  rowsBad: z.int().describe("Rows set aside"),
  cancelAsked: z.boolean(),
  failure: z.string().nullable(),
  createdAt: instantSchema,
  createdBy: personRefSchema.nullable(),
  finishedAt: instantSchema.nullable(),
  version: z.int(),
});
export type Import = z.infer<typeof importSchema>;

/** Why a row is set aside; each says the place and what to do. */
export const importProblemSchema = z.object({
  rowNumber: z.int().describe("Line of the record in the file, headings are record 1"),
  column: z.string().describe("Heading of the column, empty for the whole row"),
  value: z.string(),
  code: z.string(),
  detail: z.string(),
});
export type ImportProblem = z.infer<typeof importProblemSchema>;

export const listImports = operation({
  id: "imports.list",
  summary: "Imports, newest first",
  method: "GET",
  path: "/imports",
  permission: "import.read",
  query: z.object({ ...pageQuery }),
  reply: pageOf(importSchema),
});

export const getImport = operation({
  id: "imports.get",
  summary: "One import with its progress",
  method: "GET",
  path: "/imports/:id",
  permission: "import.read",
  params: idParams,
  reply: importSchema,
  problems: ["not-found"],
});

export const addImport = operation({
  id: "imports.add",
  summary:
    "Take in a CSV file that was kept under /files; the same file again, for the same shipment if it is a maker's list, opens the import on record",
  method: "POST",
  path: "/imports",
  permission: "import.run",
  body: z.discriminatedUnion("kind", [
    z.strictObject({ id: idSchema, kind: z.literal("meter-tests"), fileId: idSchema }),
    z.strictObject({ id: idSchema, kind: z.literal("shipment-meters"), fileId: idSchema, lotId: idSchema }),
    ...inventoryKinds.map((kind) =>
      z.strictObject({ id: idSchema, kind: z.literal(kind), fileId: idSchema }),
    ),
  ]),
  reply: importSchema,
  status: 201,
  idempotent: true,
  problems: ["not-found", "wrong-state", "refused-by-rule"],
});

export const checkImport = operation({
  id: "imports.check",
  summary: "Dry run: say what will go in and what not",
  method: "POST",
  path: "/imports/:id/check",
  permission: "import.run",
  params: idParams,
  body: z.strictObject({ mappingId: idSchema }),
  reply: importSchema,
  status: 202,
  problems: ["not-found", "wrong-state", "refused-by-rule", "storage-full"],
});

export const runImport = operation({
  id: "imports.run",
  summary: "Put the good rows of a checked import in",
  method: "POST",
  path: "/imports/:id/run",
  permission: "import.run",
  params: idParams,
  reply: importSchema,
  status: 202,
  problems: ["not-found", "wrong-state", "storage-full"],
});

export const cancelImport = operation({
  id: "imports.cancel",
  summary: "Stop after the rows under way; rows that went in stay",
  method: "POST",
  path: "/imports/:id/cancel",
  permission: "import.run",
  params: idParams,
  reply: importSchema,
  status: 202,
  problems: ["not-found", "wrong-state"],
});

export const listImportProblems = operation({
  id: "imports.listProblems",
  summary: "Rows set aside, with row, column and reason",
  method: "GET",
  path: "/imports/:id/problems",
  permission: "import.read",
  params: idParams,
  query: z.object({ ...pageQuery }),
  reply: pageOf(importProblemSchema),
  problems: ["not-found"],
});

export const getSetAsideRows = operation({
  id: "imports.getSetAsideRows",
  summary:
    "Rows set aside as CSV: the file's own columns, then row and reasons; can be mended and sent again",
  method: "GET",
  path: "/imports/:id/set-aside.csv",
  permission: "import.read",
  params: idParams,
  reply: "file",
  problems: ["not-found"],
});

export const listImportMappings = operation({
  id: "imports.listMappings",
  summary: "Saved mappings by name",
  method: "GET",
  path: "/import-mappings",
  permission: "import.read",
  query: z.object({
    kind: z.enum(importKinds).optional().describe("Mappings for files of this kind alone"),
    ...pageQuery,
  }),
  reply: pageOf(importMappingSchema),
});

export const createImportMapping = operation({
  id: "imports.createMapping",
  summary: "Save a mapping under a name",
  method: "POST",
  path: "/import-mappings",
  permission: "import.run",
  body: z.strictObject({ id: idSchema, name: lineSchema(80), body: importMappingBodySchema }),
  reply: importMappingSchema,
  status: 201,
  idempotent: true,
  problems: ["already-exists", "refused-by-rule"],
});

export const changeImportMapping = operation({
  id: "imports.changeMapping",
  summary: "Change a saved mapping",
  method: "PUT",
  path: "/import-mappings/:id",
  permission: "import.run",
  params: idParams,
  body: z.strictObject({ name: lineSchema(80), body: importMappingBodySchema }),
  reply: importMappingSchema,
  versioned: true,
  problems: ["not-found", "stale", "already-exists", "refused-by-rule"],
});

export const importOperations = [
  listImports,
  getImport,
  addImport,
  checkImport,
  runImport,
  cancelImport,
  listImportProblems,
  getSetAsideRows,
  listImportMappings,
  createImportMapping,
  changeImportMapping,
];
