import type { Amendment, MeterTest, NewMeterTest, TestPreparation } from "@sealbook/contract/meter-tests";
import type { TestRow, Verdict } from "@sealbook/contract/meters";
import type { ProblemError as ErrorDetail } from "@sealbook/contract/problems";
import type { TestReason } from "@sealbook/contract/work-items";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { fromCursor, noSuchPage, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntries } from "../../platform/ledger.ts";
import { localDate } from "../../platform/local-date.ts";
import type { HeadToPrint } from "../../platform/log/head-to-print.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { actorOf, newId, type Source, type Tx } from "../../platform/transaction.ts";
import { readTemplate, renderPdf } from "../../platform/typst.ts";
import { getMeter } from "../meters/meters.ts";
import { getShop, requirePin } from "../people/people.ts";
import { getCalibration, listStandardsToUse } from "../standards/standards.ts";
import { planByCode } from "../test-plans/test-plans.ts";
import { finishWorkItems, openWorkOf, reopenWorkItems } from "../work-items/work-items.ts";
import { buildTest, builtOrThrow } from "./build-test.ts";
import { certificateData } from "./certificate-data.ts";
import { planDocument, profileDocument } from "./documents.ts";
import { gatherForTests, placeKey, rulesFor } from "./gather.ts";
import { keepRules, type RulesOfRecord } from "./keep-rules.ts";
import type { BuiltTest, TestInput, TestOrigin, TestRequest } from "./recording-terms.ts";
import {
  findEndOfDay,
  findFileIds,
  findLastTest,
  findSuccessor,
  findTestRows,
  findTestsToSign,
  findTestToAmend,
  findWholeTest,
  insertSignatures,
  insertTestRows,
  type TestToSign,
} from "./store.ts";

export { buildTest } from "./build-test.ts";
export { gatherForTests } from "./gather.ts";
export type {
  BuildResult,
  BuiltTest,
  Gathered,
  TestInput,
  TestOrigin,
  TestRequest,
} from "./recording-terms.ts";
export {
  numberOfTemplate,
  serialOfTemplate,
  type TestTemplate,
  testTemplates,
} from "./test-templates.ts";

/**
 * Everything that the entry screen needs for one meter: what holds on the date of the test, which is today for a new
 * test and the day of the first record for an amendment, unless another date is asked about.
 *
 * A date has no hour: a meter that moved on that day counts as where it was at its end, and a standard that was
 * withdrawn on it is still offered. The moment decides when the test is recorded.
 */
export async function prepareMeterTest(
  database: Database,
  meterId: string,
  { amends, on }: { amends?: string | undefined; on?: string | undefined },
): Promise<TestPreparation> {
  const source = reading(database);
  const meter = await getMeter(database, meterId);
  const amended = amends === undefined ? null : await findTestToAmend(source, amends);
  if (amends !== undefined && amended?.meterId !== meterId) throw notFound("meter test");
  const recorded = on === undefined || on === amended?.performedOn ? amended : null;
  const performedAt =
    recorded?.performedAt ?? (on === undefined ? new Date() : await findEndOfDay(source, on));
  const [plan, gathered, standards, lastTest, openWork] = await Promise.all([
    planByCode(source, meter.type.testPlanCode),
    gatherForTests(source, [
      { meterId, planId: null, standardId: null, performedAt, at: recorded?.at ?? null },
    ]),
    listStandardsToUse(source, on ?? amended?.performedOn),
    findLastTest(source, meterId),
    openWorkOf(source, meterId),
  ]);
  if (plan === null) {
    throw refusedByRule(
      "/id",
      `The type ${meter.type.maker} ${meter.type.model} names test plan ${meter.type.testPlanCode}, which is not on record.`,
    );
  }
  const jurisdiction =
    gathered.places.get(placeKey(meterId, performedAt))?.jurisdiction ?? meter.jurisdiction;
  const judgedBy = rulesFor(
    amended === null ? gathered : await keepRules(source, gathered, amended.rules),
    jurisdiction,
    meter.type,
    localDate(performedAt, gathered.timeZone),
  );
  if (judgedBy === null) {
    throw refusedByRule("/id", `No rule profile of ${jurisdiction} is in force on this date.`);
  }
  const { profile, rules } = judgedBy;
  return {
    meter,
    plan,
    profile: profileView(profile.id, profile.document),
    rules,
    standards,
    lastTest,
    openWork,
  };
}

export async function listMeterTests(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    meterId?: string | undefined;
    reason?: TestReason | undefined;
    asFound?: Verdict | undefined;
    performedFrom?: string | undefined;
    performedTo?: string | undefined;
    unsignedByMe?: "true" | undefined;
    importId?: string | undefined;
    standardId?: string | undefined;
  },
  actorId: string,
): Promise<{ rows: TestRow[]; next: string | null }> {
  const { cursor, limit, unsignedByMe, ...filter } = query;
  const rows = await findTestRows(reading(database), {
    ...filter,
    unsignedBy: unsignedByMe === "true" ? actorId : undefined,
    before: cursor === undefined ? null : placeOf(cursor),
    limit: limit + 1,
  });
  return toPage(rows, limit, (row) => [row.performedAt, row.id]);
}

function placeOf(cursor: string): { performedAt: string; id: string } {
  const [performedAt, id] = fromCursor(cursor, 2).map(String);
  if (
    performedAt === undefined ||
    id === undefined ||
    Number.isNaN(Date.parse(performedAt)) ||
    !/^[0-9a-f-]{36}$/.test(id)
  ) {
    throw noSuchPage();
  }
  return { performedAt, id };
}

/** One test with all figures, and the documents that it was made under. */
export async function getMeterTest(source: Source, id: string): Promise<MeterTest> {
  const found = await findWholeTest(source, id);
  if (found === null) throw notFound("meter test");
  const { planId, planIsCurrent, profileId, calibrationId, ...test } = found;
  const plan = await planDocument(source, planId);
  const profile = await profileDocument(source, profileId);
  if (plan === null || profile === null) throw new Error(`meter test ${id} names what is not on record`);
  return {
    ...test,
    plan: { ...plan, current: planIsCurrent },
    profile: profileView(profileId, profile),
    calibration: calibrationId === null ? null : await getCalibration(source, calibrationId),
  };
}

function profileView(id: string, document: RuleProfile): MeterTest["profile"] {
  const { key, version, title, place, citations, caution } = document;
  return { id, key, version, title, place, citations, caution };
}

/** Judges a test and puts it on record; signs it when the PIN came along. */
export async function recordMeterTest(tx: Tx, test: NewMeterTest, now: Date): Promise<MeterTest> {
  const { signature, ...input } = test;
  const built = await build(tx, input, { testerId: actorOf(tx).id, imported: null, supersedes: null }, now);
  await refuseElsewhere(tx, { meterIds: [input.meterId], placeIds: [built.placeId] });
  try {
    await insertTests(tx, [built]);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", "A test with this id is on record already.", {
      errors: [{ pointer: "/id", detail: "This test is on record already." }],
    });
  }
  await finishWork(tx, input.meterId, input.id, input.workItemIds);
  if (signature !== null) await signTests(tx, [input.id], signature.pin, "/id");
  return await getMeterTest(tx, input.id);
}

/**
 * Puts a record beside an earlier one that supersedes it, with a reason. The earlier one stays as it is; its tester
 * stays the tester. Of two people who amend the same record at once the second is told what the first recorded.
 */
export async function amendMeterTest(
  tx: Tx,
  testId: string,
  amendment: Amendment,
  now: Date,
): Promise<MeterTest> {
  const actor = actorOf(tx);
  const amended = await findTestToAmend(tx, testId);
  if (amended === null) throw notFound("meter test");
  if (actor.role === "technician" && amended.testerId !== actor.id) {
    throw new ProblemError(
      "not-permitted",
      "A technician amends their own tests; ask a supervisor or a quality engineer to amend this one.",
    );
  }
  await refuseIfSuperseded(tx, testId);
  const { signature, amendmentReason, ...input } = amendment;
  const origin = {
    testerId: amended.testerId,
    imported: null,
    supersedes: { id: testId, reason: amendmentReason, answered: amended.answered },
  };
  // What was entered under the wrong meter or date says nothing of where the right one was then.
  const at =
    input.meterId === amended.meterId && Date.parse(input.performedAt) === amended.performedAt.getTime()
      ? amended.at
      : null;
  const built = await build(tx, input, origin, now, { at, rules: amended.rules });
  await refuseElsewhere(tx, { meterIds: [input.meterId], placeIds: [built.placeId] });
  await tx.query("SAVEPOINT amending");
  try {
    await insertTests(tx, [built]);
  } catch (error) {
    if (!isUniqueViolation(error, "meter_test_supersedes_id_key")) throw error;
    await tx.query("ROLLBACK TO SAVEPOINT amending");
    await refuseIfSuperseded(tx, testId);
    throw error;
  }
  const still = input.outcome.kind === "withdrawn" ? [] : input.workItemIds;
  await reopenWorkItems(
    tx,
    amended.workItemIds.filter((id) => !still.includes(id)),
    { testId: input.id, reason: amendmentReason },
  );
  await finishWork(
    tx,
    input.meterId,
    input.id,
    still.filter((id) => !amended.workItemIds.includes(id)),
  );
  if (signature !== null) await signTests(tx, [input.id], signature.pin, "/id");
  return await getMeterTest(tx, input.id);
}

async function refuseIfSuperseded(tx: Tx, testId: string): Promise<void> {
  const current = await findSuccessor(tx, testId);
  if (current === null) return;
  throw new ProblemError(
    "already-amended",
    `${current.tester?.name ?? "Someone"}'s test was amended by someone else first; open the newer record and amend that one if it still needs it.`,
    { current },
  );
}

const certificateTemplate = readTemplate(new URL("./certificate.typ", import.meta.url));

/**
 * The certificate of a test as PDF, and its number. A record that was amended keeps its certificate, marked as
 * superseded; one that was withdrawn has none.
 *
 * @param head of the log, for its foot
 */
export async function getCertificate(
  database: Database,
  id: string,
  head: HeadToPrint | null,
): Promise<{ number: string; pdf: Buffer }> {
  const test = await getMeterTest(reading(database), id);
  if (test.outcome.kind === "withdrawn") {
    throw new ProblemError("wrong-state", "This record withdraws a test; there is nothing to certify.");
  }
  const data = certificateData(test, await getShop(database));
  return { number: data.number, pdf: renderPdf(certificateTemplate, { ...data, head: head?.line ?? null }) };
}

/** Signs one's own tests, one or a tray: all of them or none. */
export async function signMeterTests(
  tx: Tx,
  request: { testIds: string[]; pin: string },
): Promise<{ signed: number }> {
  await signTests(tx, request.testIds, request.pin, "/testIds");
  return { signed: request.testIds.length };
}

/**
 * Puts built tests on record, each after its ledger entry: four statements however many they are. A unique violation
 * of meter_test_imported_once means that a bench's record is in the book already.
 */
export async function insertTests(tx: Tx, tests: readonly BuiltTest[]): Promise<void> {
  if (tests.length === 0) return;
  const entryIds = await writeEntries(
    tx,
    tests.map(({ entry }) => entry),
  );
  await insertTestRows(tx, tests, entryIds);
}

/** A test of the acting person as the demo's past has it. */
export interface TestOnRecord {
  body: NewMeterTest;
  signed: boolean;
}

/**
 * Records tests of the acting person together, and signs those that were signed, without asking for the PIN: for
 * loading the demo shop's past, which no request can reach.
 */
export async function addTestsOnRecord(tx: Tx, tests: readonly TestOnRecord[]): Promise<void> {
  const now = new Date();
  // What is unusual in the past was looked at when it was entered.
  const inputs = tests.map(({ body: { signature: _, ...input } }) => ({
    ...input,
    confirmedUnusual: true as const,
  }));
  const gathered = await gatherForTests(
    tx,
    inputs.map((input) => ({ ...input, performedAt: new Date(input.performedAt) })),
  );
  const origin = { testerId: actorOf(tx).id, imported: null, supersedes: null };
  await insertTests(
    tx,
    inputs.map((input) => builtOrThrow(buildTest(gathered, input, origin, now))),
  );
  for (const input of inputs) await finishWork(tx, input.meterId, input.id, input.workItemIds);
  const signed = tests.filter((test) => test.signed).map(({ body }) => body.id);
  if (signed.length === 0) return;
  await writeSignatures(tx, await findTestsToSign(tx, signed, origin.testerId));
}

async function build(
  tx: Tx,
  input: TestInput,
  origin: TestOrigin,
  now: Date,
  amended: { at: TestRequest["at"]; rules: RulesOfRecord } | null = null,
): Promise<BuiltTest> {
  const gathered = await gatherForTests(tx, [
    {
      meterId: input.meterId,
      planId: input.planId,
      standardId: input.standardId,
      performedAt: new Date(input.performedAt),
      at: amended?.at ?? null,
    },
  ]);
  if (!gathered.meters.has(input.meterId)) throw notFound("meter");
  const leanedOn = amended === null ? gathered : await keepRules(tx, gathered, amended.rules);
  const built = builtOrThrow(buildTest(leanedOn, input, origin, now));
  await refuseUnknownFiles(tx, input.fileIds);
  return built;
}

async function refuseUnknownFiles(tx: Tx, fileIds: readonly string[]): Promise<void> {
  const known = await findFileIds(tx, fileIds);
  const errors: ErrorDetail[] = fileIds.flatMap((id, index) => {
    const pointer = `/fileIds/${index}`;
    if (!known.has(id)) return [{ pointer, detail: "This file is not on record; send it again." }];
    return fileIds.indexOf(id) < index ? [{ pointer, detail: "This file is attached twice." }] : [];
  });
  const [first] = errors;
  if (first !== undefined) throw new ProblemError("refused-by-rule", first.detail, { errors });
}

async function finishWork(
  tx: Tx,
  meterId: string,
  testId: string,
  workItemIds: readonly string[],
): Promise<void> {
  try {
    await finishWorkItems(tx, meterId, testId, workItemIds);
  } catch (error) {
    if (!(error instanceof ProblemError) || error.slug !== "wrong-state") throw error;
    throw refusedByRule("/workItemIds", error.detail);
  }
}

async function signTests(
  tx: Tx,
  testIds: readonly string[],
  pin: string,
  pointer: "/id" | "/testIds",
): Promise<void> {
  const { id: accountId } = actorOf(tx);
  const found = new Map((await findTestsToSign(tx, testIds, accountId)).map((test) => [test.id, test]));
  const tests = testIds.map((id) => found.get(id));
  refuseToSign(tests, testIds, accountId, (index) => (pointer === "/id" ? pointer : `${pointer}/${index}`));
  await requirePin(tx, pin, pointer === "/id" ? "/signature/pin" : "/pin");
  await writeSignatures(
    tx,
    tests.filter((test) => test !== undefined),
  );
}

async function writeSignatures(tx: Tx, tests: readonly TestToSign[]): Promise<void> {
  const signatures = tests.map((test) => ({
    id: newId(),
    testId: test.id,
    meaning: test.outcome === "withdrawn" ? "withdrawn" : "tested",
    recordHash: hashOfRecord(test),
    recordEntryId: test.entry_id,
  }));
  const entryIds = await writeEntries(
    tx,
    signatures.map(({ id, testId, meaning, recordHash, recordEntryId }) => ({
      action: "meterTest.sign" as const,
      subjectType: "meterTest",
      subjectId: testId,
      payload: { signatureId: id, meaning, recordEntryId, recordHash },
    })),
  );
  try {
    await insertSignatures(tx, signatures, entryIds);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw alreadySigned([]);
  }
}

function refuseToSign(
  tests: readonly (TestToSign | undefined)[],
  testIds: readonly string[],
  accountId: string,
  pointerOf: (index: number) => string,
): void {
  if (tests.some((test) => test === undefined)) throw notFound("meter test");
  const refusals = tests.flatMap((test, index): ErrorDetail[] => {
    const pointer = pointerOf(index);
    if (test === undefined) return [];
    if (testIds.indexOf(test.id) < index) return [{ pointer, detail: "This test is in the tray twice." }];
    if (test.tester_id !== accountId) {
      return [
        {
          pointer,
          detail: "Only the person who performed this test can sign it.",
          rule: "The signature says who tested the meter",
        },
      ];
    }
    return test.superseded
      ? [{ pointer, detail: "This record has been superseded; sign the newer one." }]
      : [];
  });
  const [first] = refusals;
  if (first !== undefined) throw new ProblemError("refused-by-rule", first.detail, { errors: refusals });
  const signed = tests.flatMap((test, index) => (test?.signed ? [pointerOf(index)] : []));
  if (signed.length > 0) throw alreadySigned(signed);
}

function alreadySigned(pointers: readonly string[]): ProblemError {
  return new ProblemError("already-signed", "You have signed this already; nothing is left to do.", {
    errors: pointers.map((pointer) => ({ pointer, detail: "This carries your signature already." })),
  });
}

function hashOfRecord(test: TestToSign): string {
  return ledgerEntryHash({
    id: test.entry_id,
    at: test.at.toISOString(),
    actorId: test.actor_id,
    action: test.action,
    subjectType: test.subject_type,
    subjectId: test.subject_id,
    reason: test.reason,
    payload: test.payload,
  });
}
