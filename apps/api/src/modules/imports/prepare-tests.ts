import { isDeepStrictEqual } from "node:util";
import type { TestMapping } from "@sealbook/contract/imports";
import { isPlausibleRegistration } from "@sealbook/metrology/accuracy/is-plausible-registration";
import { Decimal, isDecimalString } from "@sealbook/metrology/decimal";
import { newId, type Tx } from "../../platform/transaction.ts";
import {
  type BuiltTest,
  buildTest,
  gatherForTests,
  insertTests,
  type TestInput,
} from "../meter-tests/meter-tests.ts";
import type { Layout } from "./lay-out-columns.ts";
import { implausible } from "./plausible-registration.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import type { FileRecord } from "./read-records.ts";
import { type PointEntry, readTestRow, type TestRow } from "./read-test-row.ts";
import {
  findNamedMeters,
  findNamedPeople,
  findNamedPlans,
  findNamedStandards,
  findTestsOnRecord,
  type NamedMeter,
  type RowProblem,
  type TestOnRecord,
  testKey,
} from "./store.ts";

interface NumberedRow {
  readonly rowNumber: number;
  readonly row: TestRow;
}

type TestSource = RowSource<TestMapping>;

interface Names {
  readonly meters: readonly NamedMeter[];
  readonly testerOf: (name: string) => readonly string[];
  readonly standards: ReadonlyMap<string, string>;
  readonly plans: ReadonlyMap<string, string>;
}

interface ResolvedRow extends NumberedRow {
  readonly meter: NamedMeter;
  readonly testerId: string;
  readonly standardId: string | null;
  readonly planId: string;
}

/** Reads the rows of a bench's file, looks up what they name and builds their tests. */
export async function prepareTests(
  tx: Tx,
  source: TestSource,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  const rows: NumberedRow[] = [];
  const problems: RowProblem[] = [];
  for (const record of records) {
    const read = readTestRow(record, source.layout, source.mapping);
    if (read.kind === "row") rows.push({ rowNumber: record.number, row: read.row });
    else problems.push(...read.problems.map((problem) => ({ ...problem, rowNumber: record.number })));
  }
  const names = await lookUpNames(tx, rows);
  const resolved = rows.flatMap((row) => {
    const result = resolveRow(row, names, source);
    if (result.kind === "resolved") return [result.row];
    problems.push(...result.problems);
    return [];
  });
  const onRecord = await findTestsOnRecord(
    tx,
    resolved.map(({ meter, row }) => ({ meterId: meter.id, performedAt: row.performedAt })),
  );
  const fresh: ResolvedRow[] = [];
  let already = 0;
  for (const row of resolved) {
    const records = onRecord.get(testKey(row.meter.id, row.row.performedAt));
    if (records === undefined) fresh.push(row);
    else if (records.some((record) => saysTheSame(record, toInput(row, source.mapping).outcome))) already++;
    else problems.push(differsFromBook(row, source.layout));
  }
  const gathered = await gatherForTests(
    tx,
    fresh.map(({ meter, row, planId, standardId }) => ({
      meterId: meter.id,
      planId,
      standardId,
      performedAt: row.performedAt,
    })),
  );
  const tests: BuiltTest[] = [];
  for (const [index, resolvedRow] of fresh.entries()) {
    // Judging takes a while; requests of people come in between.
    if (index % 20 === 19) await new Promise((resolve) => setImmediate(resolve));
    const plan = gathered.plans.get(resolvedRow.planId);
    const missing = plan === undefined ? [] : whatMissesPlan(resolvedRow, plan.body.points, source.layout);
    if (missing.length > 0) {
      problems.push(...missing);
      continue;
    }
    const input = toInput(resolvedRow, source.mapping);
    const built = buildTest(
      gathered,
      input,
      {
        testerId: resolvedRow.testerId,
        imported: { importId: source.importId, row: resolvedRow.rowNumber },
        supersedes: null,
      },
      source.now,
    );
    const refusals =
      built.kind === "built"
        ? whatIsImplausible(built.test, resolvedRow, source.layout)
        : built.errors.map((error) => ({
            ...problemAt(error.pointer, input, source.layout, built.slug === "standard-overdue"),
            rowNumber: resolvedRow.rowNumber,
            value: error.pointer.startsWith("/standardId") ? (resolvedRow.row.standard ?? "") : "",
            detail: error.detail,
          }));
    if (built.kind === "built" && refusals.length === 0) tests.push(built.test);
    else problems.push(...refusals);
  }
  return { good: tests.length, already, problems, putIn: () => insertTests(tx, tests) };
}

async function lookUpNames(tx: Tx, rows: readonly NumberedRow[]): Promise<Names> {
  const distinct = (pick: (row: TestRow) => string | null) => [
    ...new Set(rows.map(({ row }) => pick(row)).filter((name) => name !== null)),
  ];
  const meters = await findNamedMeters(
    tx,
    distinct((row) => row.meterNumber),
    distinct((row) => row.serial),
  );
  const people = await findNamedPeople(
    tx,
    distinct((row) => row.tester),
  );
  const standards = await findNamedStandards(
    tx,
    distinct((row) => row.standard),
  );
  const plans = await findNamedPlans(tx, [
    ...new Set([...distinct((row) => row.planCode), ...meters.map(({ planCode }) => planCode)]),
  ]);
  return {
    meters,
    testerOf: (name) => {
      const wanted = name.toLowerCase();
      const byUsername = people.filter(({ username }) => username === wanted);
      const found =
        byUsername.length > 0 ? byUsername : people.filter((person) => person.name?.toLowerCase() === wanted);
      return found.map(({ id }) => id);
    },
    standards: new Map(standards.map(({ id, designation }) => [designation, id])),
    plans: new Map(plans.map(({ id, code }) => [code, id])),
  };
}

function resolveRow(
  numbered: NumberedRow,
  names: Names,
  { layout, actorId, seen }: TestSource,
): { kind: "resolved"; row: ResolvedRow } | { kind: "problems"; problems: RowProblem[] } {
  const { rowNumber, row } = numbered;
  const problems: RowProblem[] = [];
  const refuse = (field: string, value: string | null, code: string, detail: string) => {
    problems.push({ rowNumber, column: layout.of(field)?.heading ?? "", value: value ?? "", code, detail });
  };

  const found = findMeterOf(row, names.meters);
  const meterField = row.meterNumber !== null ? "meterNumber" : "serial";
  if (found.kind === "refused") {
    refuse(meterField, row.meterNumber ?? row.serial, found.code, found.detail);
  } else if (seen !== null) {
    const key = testKey(found.meter.id, row.performedAt);
    const earlier = seen.get(key);
    if (earlier === undefined) seen.set(key, rowNumber);
    else {
      refuse(
        meterField,
        row.meterNumber ?? row.serial,
        "duplicate-in-file",
        `Row ${earlier} names the same meter at the same time. Keep the one that is right.`,
      );
    }
  }
  const testers = row.tester === null ? [actorId] : names.testerOf(row.tester);
  if (testers.length !== 1) {
    refuse(
      "tester",
      row.tester,
      testers.length === 0 ? "unknown-tester" : "ambiguous-tester",
      testers.length === 0
        ? "Nobody has this sign-in name or printed name. Correct it, or have an account opened."
        : "Several people have this printed name; write the sign-in name.",
    );
  }
  let standardId: string | null = null;
  if (row.untestable === null) {
    standardId = row.standard === null ? null : (names.standards.get(row.standard) ?? null);
    if (row.standard === null) {
      refuse("standard", null, "standard-missing", "Name the standard that the test leaned on.");
    } else if (standardId === null) {
      refuse(
        "standard",
        row.standard,
        "unknown-standard",
        "No standard of this designation is on record. Correct it, or add the standard first.",
      );
    }
  }
  const planCode = row.planCode ?? (found.kind === "meter" ? found.meter.planCode : null);
  const planId = planCode === null ? undefined : names.plans.get(planCode);
  if (planCode !== null && planId === undefined) {
    refuse(
      "planCode",
      planCode,
      "unknown-plan",
      `No test plan has the code ${planCode}. Correct it, or add the plan first.`,
    );
  }
  const [testerId] = testers;
  if (problems.length > 0 || found.kind === "refused" || testerId === undefined || planId === undefined) {
    return { kind: "problems", problems };
  }
  return { kind: "resolved", row: { rowNumber, row, meter: found.meter, testerId, standardId, planId } };
}

/** The meter of a row: in the book now under the number, else the one that had it; the serial decides between several. */
function findMeterOf(
  { meterNumber, serial }: TestRow,
  meters: readonly NamedMeter[],
): { kind: "meter"; meter: NamedMeter } | { kind: "refused"; code: string; detail: string } {
  const named = meters.filter((meter) =>
    meterNumber === null ? meter.serial === serial : meter.number === meterNumber,
  );
  if (named.length === 0) {
    return {
      kind: "refused",
      code: "unknown-meter",
      detail: "No meter of this number is on record. Correct the number, or add the meter first.",
    };
  }
  const fitting = serial === null ? named : named.filter((meter) => meter.serial === serial);
  if (fitting.length === 0) {
    return {
      kind: "refused",
      code: "meter-mismatch",
      detail: `The meter of this number has the serial ${named.map((meter) => meter.serial).join(" or ")}, not ${serial}. Correct one of the two.`,
    };
  }
  const present = fitting.filter(({ retired }) => !retired);
  const candidates = present.length > 0 ? present : fitting;
  const [meter] = candidates;
  if (meter === undefined || candidates.length > 1) {
    return {
      kind: "refused",
      code: "ambiguous-meter",
      detail: "Several meters fit. Give both the utility's number and the maker's serial.",
    };
  }
  return { kind: "meter", meter };
}

/** A test that a person typed stands for what it is; one that a file brought is compared figure by figure. */
function saysTheSame(record: TestOnRecord, outcome: TestInput["outcome"]): boolean {
  return record.method === "entered" || isDeepStrictEqual(comparable(record.outcome), comparable(outcome));
}

/** Plain data with its numbers made alike: "100.10" and "100.1" are the same figure. */
function comparable(value: unknown): unknown {
  return JSON.parse(
    JSON.stringify(value, (_name, part: unknown) =>
      typeof part === "string" && isDecimalString(part) ? new Decimal(part).toFixed() : part,
    ),
  );
}

function differsFromBook({ rowNumber, row }: ResolvedRow, layout: Layout): RowProblem {
  return {
    rowNumber,
    column: layout.of(row.meterNumber === null ? "serial" : "meterNumber")?.heading ?? "",
    value: row.meterNumber ?? row.serial ?? "",
    code: "differs-from-book",
    detail:
      "The book has a test of this meter at this time that came from a file with other figures. If these are right, amend that test; a file changes nothing that is on record.",
  };
}

/** Points of the plan without a figure, and figures without a point in the plan. */
function whatMissesPlan(
  { rowNumber, row }: ResolvedRow,
  planPoints: readonly { key: string; label: string }[],
  layout: Layout,
): RowProblem[] {
  if (row.untestable !== null) return [];
  const problems: RowProblem[] = [];
  const refuse = (column: string | undefined, code: string, detail: string) =>
    problems.push({ rowNumber, column: column ?? "", value: "", code, detail });
  const columnsOf = new Map(layout.points.map((columns) => [columns.pointKey, columns]));
  const foundKeys = new Set(row.asFound.map(({ pointKey }) => pointKey));
  const leftKeys = new Set(row.asLeft.map(({ pointKey }) => pointKey));
  for (const { key, label } of planPoints) {
    const columns = columnsOf.get(key);
    if (!foundKeys.has(key)) {
      refuse(
        (columns?.asFound ?? columns?.counts)?.heading,
        "figure-missing",
        `The plan asks for ${label} (${key}); the row has no figure for it. Add it, or name another plan.`,
      );
    } else if (leftKeys.size > 0 && !leftKeys.has(key)) {
      refuse(
        columns?.asLeft?.heading,
        "figure-missing",
        `As left has no figure for ${label} (${key}). Add it, or empty all of them.`,
      );
    }
  }
  const planned = new Set(planPoints.map(({ key }) => key));
  for (const key of [...foundKeys, ...leftKeys].filter((key) => !planned.has(key))) {
    const columns = columnsOf.get(key);
    refuse(
      (foundKeys.has(key) ? (columns?.asFound ?? columns?.counts) : columns?.asLeft)?.heading,
      "point-not-in-plan",
      `The plan has no point ${key}. Empty the cell, or name another plan.`,
    );
  }
  if (row.adjustment !== "" && leftKeys.size === 0) {
    refuse(
      layout.of("adjustment")?.heading,
      "as-left-missing",
      "The row says that something was adjusted and has no figures as left. Add them, or empty this cell.",
    );
  }
  if (hasOtherCreep(row) && leftKeys.size === 0) {
    refuse(
      layout.of("creepAsLeft")?.heading,
      "as-left-missing",
      "Creep as left is not as it was found, and the row has no figures as left. Add them, or empty this cell.",
    );
  }
  return problems;
}

/** Counts and energies make a registration only here, so a slip of unit or constant shows only here, too. */
function whatIsImplausible(test: BuiltTest, { rowNumber }: ResolvedRow, layout: Layout): RowProblem[] {
  return test.points
    .filter(({ registrationPercent }) => !isPlausibleRegistration(registrationPercent))
    .filter(
      ({ pass, pointKey }, index, all) =>
        pass === "as-found" || !all.slice(0, index).some((other) => other.pointKey === pointKey),
    )
    .map(({ pointKey, registrationPercent }) => {
      const columns = layout.points.find((point) => point.pointKey === pointKey);
      return {
        rowNumber,
        column: (columns?.counts ?? columns?.asFound)?.heading ?? "",
        value: "",
        code: "implausible-figure",
        detail: implausible(registrationPercent),
      };
    });
}

function toInput({ row, meter, planId, standardId }: ResolvedRow, mapping: TestMapping): TestInput {
  return {
    id: newId(),
    meterId: meter.id,
    planId,
    reasons: [row.reason],
    workItemIds: [],
    performedAt: row.performedAt.toISOString(),
    standardId,
    errorAppliedByBench: row.untestable === null ? mapping.errorAppliedByBench : null,
    conditions: row.conditions,
    preconditionsConfirmed: [],
    readingBefore: row.readingBefore,
    readingAfter: row.readingAfter,
    sealsRemoved: [...row.sealsRemoved],
    sealsApplied: [...row.sealsApplied],
    remarks: row.remarks,
    fileIds: [],
    outcome:
      row.untestable === null
        ? {
            kind: "tested",
            asFound: { points: [...row.asFound], creep: row.creep },
            asLeft: asLeftOf(row),
          }
        : { kind: "no-test-possible", reason: row.untestable, note: row.adjustment },
  };
}

/** Whether the row says of creep as left what it does not say of it as found. */
function hasOtherCreep(row: TestRow): boolean {
  return row.creepAsLeft !== null && row.creepAsLeft !== row.creep;
}

/** A row without figures as left, or with the same once more, says that nothing was adjusted. */
function asLeftOf(row: TestRow): Extract<TestInput["outcome"], { kind: "tested" }>["asLeft"] {
  const same =
    row.asLeft.length === 0 ||
    (row.adjustment === "" && !hasOtherCreep(row) && areEqual(row.asLeft, row.asFound));
  if (same) return { kind: "same" };
  return {
    kind: "entered",
    pass: { points: [...row.asLeft], creep: row.creepAsLeft ?? "not-checked" },
    adjustment: row.adjustment === "" ? "Not described in the bench's file." : row.adjustment,
  };
}

function areEqual(one: readonly PointEntry[], other: readonly PointEntry[]): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** Which column a refusal of the built test is about, and its code. */
function problemAt(
  pointer: string,
  input: TestInput,
  layout: Layout,
  overdue: boolean,
): { column: string; code: string } {
  const at = (field: string, code: string) => ({ column: layout.of(field)?.heading ?? "", code });
  if (pointer.startsWith("/performedAt")) {
    return layout.of("performedAt") === null
      ? at("performedDate", "time-refused")
      : at("performedAt", "time-refused");
  }
  if (pointer.startsWith("/standardId"))
    return at("standard", overdue ? "standard-overdue" : "standard-refused");
  if (pointer.startsWith("/planId")) return at("planCode", "unknown-plan");
  const point = /^\/outcome\/(asFound|asLeft\/pass)\/points\/(\d+)/.exec(pointer);
  if (point !== null && input.outcome.kind === "tested") {
    const { asFound, asLeft } = input.outcome;
    const isLeft = point[1] !== "asFound";
    const points = isLeft && asLeft.kind === "entered" ? asLeft.pass.points : asFound.points;
    const columns = layout.points.find(({ pointKey }) => pointKey === points[Number(point[2])]?.pointKey);
    const column = isLeft ? columns?.asLeft : (columns?.asFound ?? columns?.counts);
    return { column: column?.heading ?? "", code: "figure-refused" };
  }
  return { column: "", code: "refused-by-rule" };
}
