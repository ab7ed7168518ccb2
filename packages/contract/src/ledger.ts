import { z } from "zod";
import { idParams, idSchema, instantSchema, pageOf, pageQuery, personRefSchema } from "./common.ts";
import { operation } from "./operation.ts";

/** Every action that the ledger knows: "noun.verb". */
export const ledgerActions = [
  "account.create",
  "account.change",
  "account.setPassword",
  "account.setPin",
  "account.forget",
  "calibration.record",
  "correctiveAction.add",
  "correctiveAction.change",
  "file.add",
  "import.add",
  "import.cancel",
  "import.finish",
  "import.run",
  "importMapping.save",
  "lot.create",
  "lot.addMeters",
  "lot.plan",
  "lot.list",
  "lot.draw",
  "lot.follow",
  "lot.decide",
  "lot.approve",
  "lot.dispose",
  "lot.withdraw",
  "meter.create",
  "meter.move",
  "meterTest.record",
  "meterTest.amend",
  "meterTest.sign",
  "meterType.create",
  "meterType.change",
  "place.create",
  "profile.add",
  "programme.create",
  "programme.draw",
  "programme.finish",
  "programme.cancel",
  "samplingScheme.add",
  "servicePoint.create",
  "shop.change",
  "shop.set",
  "standard.create",
  "standard.change",
  "switching.direct",
  "testPlan.add",
  "workItem.open",
  "workItem.finish",
] as const;
export type LedgerAction = (typeof ledgerActions)[number];

export const ledgerEntrySchema = z.object({
  id: idSchema,
  at: instantSchema,
  actor: personRefSchema.nullable().describe("null is the service itself"),
  action: z.string(),
  subjectType: z.string(),
  subjectId: z.string(),
  reason: z.string().nullable(),
  payload: z.string().describe("Canonical JSON as stored"),
  hash: z.string().describe("RFC 6962 leaf hash of the entry"),
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

export const ledgerOperations = [listLedger, getLedgerEntry];
