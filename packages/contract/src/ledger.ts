import { z } from "zod";
import {
  dateSchema,
  idParams,
  idSchema,
  instantSchema,
  pageOf,
  pageQuery,
  personRefSchema,
} from "./common.ts";
import { operation } from "./operation.ts";

/** Every action that the ledger knows: "noun.verb". */
export const ledgerActions = [
  "account.create",
  "account.change",
  "account.setPassword",
  "account.setPin",
  "account.forget",
  "account.refuse",
  "account.rehash",
  "account.endSessions",
  "apiToken.create",
  "apiToken.revoke",
  "calibration.record",
  "calibration.forget",
  "calibration.sign",
  "correctiveAction.add",
  "correctiveAction.change",
  "demo.load",
  "file.add",
  "import.add",
  "import.cancel",
  "import.finish",
  "import.rows",
  "import.run",
  "importMapping.save",
  "ledger.bindRows",
  "log.acceptHistory",
  "logKey.use",
  "logOutlet.add",
  "logOutlet.change",
  "lot.create",
  "lot.addMeters",
  "lot.plan",
  "lot.list",
  "lot.draw",
  "lot.follow",
  "lot.takeBack",
  "lot.decide",
  "lot.approve",
  "lot.dispose",
  "lot.withdraw",
  "meter.create",
  "meter.change",
  "meter.hold",
  "meter.liftHold",
  "meter.move",
  "meter.receive",
  "meter.takeBack",
  "meterList.take",
  "meterList.taken",
  "meterTest.record",
  "meterTest.amend",
  "meterTest.sign",
  "meterType.create",
  "meterType.change",
  "inventoryFlag.settle",
  "place.change",
  "place.create",
  "profile.add",
  "profile.decide",
  "programme.create",
  "programme.draw",
  "programme.finish",
  "programme.cancel",
  "programme.resume",
  "report.draft",
  "report.fix",
  "report.sign",
  "report.release",
  "report.withdraw",
  "samplingScheme.add",
  "servicePoint.create",
  "shop.change",
  "shop.set",
  "standard.create",
  "standard.change",
  "switching.direct",
  "testPlan.add",
  "workItem.assign",
  "workItem.open",
  "workItem.finish",
  "workItem.close",
] as const;
export type LedgerAction = (typeof ledgerActions)[number];

export const ledgerEntrySchema = z.object({
  id: idSchema,
  at: instantSchema,
  actor: personRefSchema.nullable().describe("null is the service itself"),
  action: z.string(),
  subjectType: z.string(),
  subjectId: z.string(),
  subjectName: z
    .string()
    .nullable()
    .describe("What people call the record today: a meter's number, a type's model; no part of the entry"),
  reason: z.string().nullable(),
  payload: z.string().describe("Canonical JSON as stored"),
  hash: z.string().describe("Hash of the entry; its leaf in the log holds it, with the root over its rows"),
});
export type LedgerEntryView = z.infer<typeof ledgerEntrySchema>;

export const listLedger = operation({
  id: "ledger.list",
  summary: "Ledger entries, newest first",
  method: "GET",
  path: "/ledger",
  permission: "ledger.read",
  query: z.object({
    ...pageQuery,
    subjectId: z.string().max(80).optional(),
    actorId: idSchema.optional(),
    action: z.string().max(60).optional(),
    from: dateSchema.optional().describe("First local date of the shop"),
    to: dateSchema.optional().describe("Last local date of the shop, inclusive"),
  }),
  reply: pageOf(ledgerEntrySchema),
});

export const getLedgerEntry = operation({
  id: "ledger.get",
  summary: "One ledger entry",
  method: "GET",
  path: "/ledger/:id",
  permission: "ledger.read",
  params: idParams,
  reply: ledgerEntrySchema,
  problems: ["not-found"],
});

/** What a regulator asked for; the request that was refused, too. */
export const lookSchema = z.object({
  id: idSchema,
  at: instantSchema,
  person: personRefSchema,
  operation: z.string(),
  summary: z.string().describe("What the operation does, in words"),
  parameters: z.string().describe("JSON of the address's parameters and query"),
  allowed: z.boolean(),
});
export type Look = z.infer<typeof lookSchema>;

export const listLooks = operation({
  id: "ledger.listLooks",
  summary: "What regulators looked at, newest first",
  method: "GET",
  path: "/looks",
  permission: "ledger.read",
  query: z.object({
    ...pageQuery,
    actorId: idSchema.optional(),
    from: dateSchema.optional().describe("First local date of the shop"),
    to: dateSchema.optional().describe("Last local date of the shop, inclusive"),
  }),
  reply: pageOf(lookSchema),
});

const hashSchema = z.string().describe("SHA-256, 64 hexadecimal digits");

/** A signed head of the log, C2SP tlog-checkpoint, and the key that checks it. */
export const logHeadSchema = z.object({
  origin: z.string().describe("Name of the log and of its key"),
  key: z.string().describe("Public key as C2SP signed-note writes it: name+id+key"),
  size: z.int().describe("Entries under the head"),
  root: hashSchema,
  at: instantSchema.describe("When it was signed"),
  note: z.string().describe("The signed head as text; keep it elsewhere"),
});
export type LogHead = z.infer<typeof logHeadSchema>;

export const getLogHead = operation({
  id: "ledger.head",
  summary: "The newest signed head of the log",
  method: "GET",
  path: "/log/head",
  permission: "log.read",
  reply: logHeadSchema,
  problems: ["not-found"],
});

export const getLogHeadFile = operation({
  id: "ledger.headFile",
  summary: "The newest signed head of the log as a C2SP checkpoint file",
  method: "GET",
  path: "/log/head/file",
  permission: "log.read",
  reply: "file",
  problems: ["not-found"],
});

export const entryProofSchema = z.object({
  index: z.int().describe("Place of the entry's leaf in the log, from 0"),
  leafHash: hashSchema,
  rows: z
    .object({
      count: z.int().describe("Rows that the entry wrote"),
      root: hashSchema.describe("Root over the hashes of these rows"),
    })
    .nullable()
    .describe("What the leaf holds of the entry's rows; null of an entry from before rows stood in the log"),
  size: z.int().describe("Entries under the signed head that the proof leads to"),
  root: hashSchema,
  hashes: z.array(hashSchema).describe("RFC 6962 inclusion proof, from the leaf's sibling up"),
  file: z.string().describe("The same with the signed head, and the leaf's text: a C2SP tlog-proof file"),
});
export type EntryProof = z.infer<typeof entryProofSchema>;

export const getEntryProof = operation({
  id: "ledger.proof",
  summary: "Proof that an entry is in the log",
  method: "GET",
  path: "/ledger/:id/proof",
  permission: "log.read",
  params: idParams,
  reply: entryProofSchema,
  problems: ["not-found"],
});

export const getEntryProofFile = operation({
  id: "ledger.proofFile",
  summary: "Proof that an entry is in the log as a C2SP tlog-proof file",
  method: "GET",
  path: "/ledger/:id/proof/file",
  permission: "log.read",
  params: idParams,
  reply: "file",
  problems: ["not-found"],
});

const treeSizeSchema = z.coerce.number().int().min(1).max(Number.MAX_SAFE_INTEGER);

export const getConsistencyProof = operation({
  id: "ledger.consistency",
  summary: "Proof that the log of one size is the beginning of the log of another",
  method: "GET",
  path: "/log/consistency",
  permission: "log.read",
  query: z.object({
    from: treeSizeSchema.describe("The older size"),
    to: treeSizeSchema.describe("The newer size, at most the log's own"),
  }),
  reply: z.object({
    from: z.int(),
    to: z.int(),
    hashes: z.array(hashSchema).describe("RFC 6962 consistency proof"),
  }),
  problems: ["refused-by-rule"],
});

export const ledgerOperations = [
  listLedger,
  getLedgerEntry,
  listLooks,
  getLogHead,
  getLogHeadFile,
  getEntryProof,
  getEntryProofFile,
  getConsistencyProof,
];
