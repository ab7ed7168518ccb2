import type { ReportBody } from "@sealbook/contract/reports";
import { type TestPlanBody, testPlanBodySchema } from "@sealbook/contract/test-plans";
import { toHex, utf8 } from "@sealbook/evidence/bytes";
import { appendLeaf, joinSubtrees, type Subtree } from "@sealbook/evidence/frontier";
import { leafHash } from "@sealbook/evidence/leaf-and-node-hash";
import type { CertifiedPoint } from "@sealbook/metrology/accuracy/test-terms";
import { localDateOf } from "@sealbook/metrology/calendar/local-date-of";
import { Decimal } from "@sealbook/metrology/decimal";
import { engineVersion } from "@sealbook/metrology/engine-version";
import { type RuleProfile, ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import type { Measure, ReportedPass, ReportedTest } from "@sealbook/metrology/reports/reported-test";
import { summariser } from "@sealbook/metrology/reports/summarise";
import type { Summary } from "@sealbook/metrology/reports/summary-schema";
import type { LineOf } from "./bundle-lines.ts";
import type { Findings } from "./finding.ts";
import { type JudgedAgain, judgeAgain } from "./judge-again.ts";
import { type LotTest, lotTestOf } from "./lot-test.ts";
import { type Bundle, isOfOneTest, type OpenLines, type Progress, readLine } from "./read-bundle.ts";
import { parsed, type ReadEntry, readEntry } from "./read-entry.ts";
import { type RecordedTest, readRecordedTest, reportedTestSchema } from "./recorded-test.ts";

/** What the records of tests add up to. */
export interface CountedTests {
  readonly count: number;
  /** RFC 6962 root over the records' texts, hexadecimal. */
  readonly root: string;
  readonly summary: Summary | null;
  /** Tests that leaned on a standard, and of those the ones performed after its calibration was due; by standard. */
  readonly byStandard: ReadonlyMap<string, { tests: number; pastDue: number }>;
  /** Types of the tests that count. */
  readonly typeIds: ReadonlySet<string>;
  /** Records that were judged again from what was typed. */
  readonly judgedAgain: number;
  /** Tests that were asked for, by id, from the report or from an entry beside it. */
  readonly wanted: ReadonlyMap<string, LotTest>;
}

/**
 * Goes through the records of tests once more: each against its entry, judged again from what was typed, counted.
 *
 * @param wantedIds tests that are handed back, as lots need them
 */
export async function checkTests(
  open: OpenLines,
  bundle: Bundle,
  body: ReportBody,
  wantedIds: ReadonlySet<string>,
  findings: Findings,
  progress: Progress,
): Promise<CountedTests> {
  const grounds = groundsOf(bundle, body);
  const bulk = new Map(bundle.entries.map((entry) => [entry.id, entry]));
  const counting =
    grounds.bands === null
      ? null
      : summariser({
          bands: grounds.bands,
          phasesOfType: grounds.phases,
          lateSince: body.lateSince,
        });
  const frontier: Subtree[] = [];
  const byStandard = new Map<string, { tests: number; pastDue: number }>();
  const typeIds = new Set<string>();
  const superseded = supersededOutside(bundle, body);
  const usedProfiles = new Map<string, { testId: string; index: number }>();
  const inBulk = new Map<string, number>();
  const states = new Map<string, ReportedTest["state"]>();
  const lastOf = new Map<string, { at: string; on: string }[]>();
  const previous: { id: string; meterId: string; at: string; on: string | null }[] = [];
  const wanted = testsOutside(bundle, wantedIds, grounds);
  let count = 0;
  let lines = 0;
  let judgedAgain = 0;
  let before = "";
  for await (const text of open()) {
    lines += 1;
    if (lines % 1000 === 0) progress(lines);
    if (!text.includes('"kind":"test"')) continue;
    const line = readLine(text);
    if (line?.kind !== "test") continue;
    count += 1;
    appendLeaf(frontier, leafHash(utf8(line.text)));
    const test = reportedTestSchema.safeParse(parsed(line.text)).data;
    if (test === undefined) {
      findings.wrong("test-not-readable", `Record ${count} of a test cannot be read.`);
      continue;
    }
    if (test.id <= before)
      findings.wrong("tests-out-of-order", `Test ${test.id} does not stand in the order of ids, once.`);
    before = test.id;
    if (
      test.performedOn < body.period.from ||
      test.performedOn > body.period.to ||
      test.recordedAt > body.cutoff
    ) {
      findings.wrong(
        "test-outside-period",
        `Test ${test.id} was not performed in the period, or recorded after its end.`,
      );
    }
    states.set(test.id, test.state);
    const recorded = recordOf(line, test, bulk, inBulk, findings);
    if (wantedIds.has(test.id)) wanted.set(test.id, { ...test, testerId: recorded?.test.testerId ?? null });
    if (recorded !== null) {
      const { profileId, supersedesId } = recorded.test;
      if (supersedesId !== undefined) superseded.set(supersedesId, test.id);
      const { index } = recorded.entry;
      if (index < (usedProfiles.get(profileId)?.index ?? Number.POSITIVE_INFINITY))
        usedProfiles.set(profileId, { testId: test.id, index });
      compare(test, recorded, body, grounds, findings);
      if (judge(test, recorded.test, grounds, findings)) judgedAgain += 1;
      if (test.state === "counted") {
        const at = recorded.test.performedAt;
        previous.push({ id: test.id, meterId: test.meterId, at, on: test.previousOn });
        if (recorded.test.entered.outcome.kind === "tested") {
          const known = lastOf.get(test.meterId);
          if (known === undefined) lastOf.set(test.meterId, [{ at, on: test.performedOn }]);
          else known.push({ at, on: test.performedOn });
        }
      }
    }
    if (test.state === "counted") {
      typeIds.add(test.typeId);
      if (test.standardId !== null) {
        const of = byStandard.get(test.standardId) ?? { tests: 0, pastDue: 0 };
        const due =
          test.calibrationId === null ? undefined : grounds.calibrations.get(test.calibrationId)?.dueOn;
        byStandard.set(test.standardId, {
          tests: of.tests + 1,
          pastDue: of.pastDue + (due !== undefined && test.performedOn > due ? 1 : 0),
        });
      }
    }
    if (grounds.phases.has(test.typeId) || test.state !== "counted") counting?.add(test);
    else findings.wrong("test-differs", `Test ${test.id} is of a type that the report does not name.`);
  }
  checkStates(superseded, states, findings);
  checkApproved(usedProfiles, bundle, findings);
  checkPrevious(previous, lastOf, findings);
  return {
    count,
    root: toHex(joinSubtrees(frontier.map(({ hash }) => hash))),
    summary: counting?.result() ?? null,
    byStandard,
    typeIds,
    judgedAgain,
    wanted,
  };
}

interface AllGrounds {
  readonly bands: NonNullable<RuleProfile["reportBands"]> | null;
  readonly phases: ReadonlyMap<string, number>;
  readonly profiles: ReadonlyMap<string, RuleProfile>;
  readonly plans: ReadonlyMap<string, TestPlanBody>;
  readonly calibrations: ReadonlyMap<string, { standardId: string; dueOn: string; points: CertifiedPoint[] }>;
}

/** One band that takes everything, as a report has it whose rules name none. */
const noBands: NonNullable<RuleProfile["reportBands"]> = {
  places: 1,
  bands: [{ label: "any registration", minPercent: null, maxPercent: null }],
  source: "The profile names no accuracy bands.",
};

function groundsOf(bundle: Bundle, body: ReportBody): AllGrounds {
  const profiles = new Map<string, RuleProfile>();
  for (const { id, text } of bundle.profiles) {
    const profile = ruleProfileSchema.safeParse(parsed(text)).data;
    if (profile !== undefined) profiles.set(id, profile);
  }
  const plans = new Map<string, TestPlanBody>();
  for (const { id, text } of bundle.plans) {
    const plan = testPlanBodySchema.safeParse(parsed(text)).data;
    if (plan !== undefined) plans.set(id, plan);
  }
  const layout = profiles.get(body.layout.id);
  return {
    bands: layout === undefined ? null : (layout.reportBands ?? noBands),
    phases: new Map(body.types.map(({ id, phases }) => [id, phases])),
    profiles,
    plans,
    calibrations: new Map(
      bundle.calibrations.map(({ id, standardId, dueOn, points }) => [
        id,
        { standardId, dueOn, points: (parsed(points) ?? []) as CertifiedPoint[] },
      ]),
    ),
  };
}

/** Tests from the entries that stand beside the report. */
function testsOutside(
  { entries }: Bundle,
  wantedIds: ReadonlySet<string>,
  { plans }: AllGrounds,
): Map<string, LotTest> {
  return new Map(
    entries.flatMap((entry): [string, LotTest][] => {
      if (!isOfOneTest(entry) || !wantedIds.has(entry.subjectId)) return [];
      const recorded = readRecordedTest(entry.payload);
      const plan = recorded === null ? undefined : plans.get(recorded.planId);
      return recorded === null || plan === undefined ? [] : [[entry.subjectId, lotTestOf(recorded, plan)]];
    }),
  );
}

interface Recorded {
  readonly entry: ReadEntry;
  readonly test: RecordedTest;
}

/** The entry that recorded a test; null where there is none that can be held against it. */
function recordOf(
  line: LineOf<"test">,
  test: ReportedTest,
  bulk: ReadonlyMap<string, ReadEntry>,
  inBulk: Map<string, number>,
  findings: Findings,
): Recorded | null {
  const entry = line.entry === null ? bulk.get(test.entryId) : readEntry(line.entry.text, line.entry.index);
  if (entry === undefined || entry === null || entry.id !== test.entryId) {
    findings.wrong("test-without-entry", `Test ${test.id} stands beside no entry that recorded it.`);
    return null;
  }
  if (!isOfOneTest(entry)) {
    const so = (inBulk.get(entry.id) ?? 0) + 1;
    inBulk.set(entry.id, so);
    if (entry.action !== "demo.load" || so > Number(entry.payload.rows) || test.state === "withdrawn") {
      findings.wrong("test-without-entry", `The entry beside test ${test.id} recorded something else.`);
      return null;
    }
    findings.unknown(
      "test-bound-in-bulk",
      `Test ${test.id} was recorded by an entry of many rows, which stand in the log by their hash and not in this bundle.`,
    );
    return null;
  }
  const recorded = readRecordedTest(entry.payload);
  if (entry.subjectId !== test.id || recorded === null) {
    findings.wrong("test-without-entry", `The entry beside test ${test.id} recorded something else.`);
    return null;
  }
  return { entry, test: recorded };
}

/** Holds what a report counts of a test against what its entry says was recorded. */
function compare(
  test: ReportedTest,
  { entry, test: recorded }: Recorded,
  body: ReportBody,
  grounds: AllGrounds,
  findings: Findings,
): void {
  const { outcome } = recorded.entered;
  const wrong: string[] = [];
  const hold = (what: string, same: boolean) => {
    if (!same) wrong.push(what);
  };
  hold("its meter", test.meterId === recorded.meterId);
  hold("its date", test.performedOn === localDateOf(new Date(recorded.performedAt), body.timeZone));
  hold("when it was recorded", isWithinTransaction(entry.at, test.recordedAt));
  hold("its reasons", test.reasons.join() === recorded.reasons.join());
  hold("its standard", test.standardId === recorded.standardId);
  hold("its calibration", test.calibrationId === recorded.calibrationId);
  hold("the rules it was judged by", recorded.profileKey === body.profile.key);
  hold("where it was performed", body.place === null || recorded.placeId === body.place.id);
  hold(
    "why no test was possible",
    test.untestableReason === (outcome.kind === "no-test-possible" ? outcome.reason : null),
  );
  hold(
    "that it is withdrawn",
    test.state === "amended" || (test.state === "withdrawn") === (outcome.kind === "withdrawn"),
  );
  const plan = grounds.plans.get(recorded.planId);
  if (plan === undefined)
    findings.wrong("plan-missing", `The test plan of test ${test.id} is not in the bundle.`);
  else {
    const roles = new Map(plan.points.map(({ key, role }) => [key, role]));
    const creepOf = (creep: string) => (creep === "not-checked" ? null : creep === "creeps");
    const asFound = outcome.kind === "tested" ? creepOf(outcome.asFound.creep) : null;
    const asLeft =
      outcome.kind !== "tested" || outcome.asLeft.kind === "not-tested"
        ? null
        : outcome.asLeft.kind === "same"
          ? asFound
          : creepOf(outcome.asLeft.pass.creep);
    hold(
      "its figures as found",
      samePass(
        test.asFound,
        "as-found",
        outcome.kind === "tested" ? recorded.verdictAsFound : null,
        recorded.averageAsFound,
        asFound,
        recorded,
        roles,
      ),
    );
    hold(
      "its figures as left",
      samePass(
        test.asLeft,
        "as-left",
        recorded.verdictAsLeft,
        recorded.averageAsLeft,
        asLeft,
        recorded,
        roles,
      ),
    );
  }
  if (wrong.length > 0) {
    findings.wrong("test-differs", `Test ${test.id} is not what its entry recorded: ${wrong.join(", ")}.`);
  }
  if (test.calibrationId !== null) {
    const calibration = grounds.calibrations.get(test.calibrationId);
    if (calibration === undefined) {
      findings.wrong("calibration-missing", `The calibration behind test ${test.id} is not in the bundle.`);
    } else if (calibration.standardId !== test.standardId) {
      findings.wrong("standard-swapped", `The calibration behind test ${test.id} is of another standard.`);
    }
  }
}

/** A row is written in the transaction of its entry, a little after it: at most as long as a transaction may take. */
function isWithinTransaction(entryAt: string, rowAt: string): boolean {
  const milliseconds = Date.parse(rowAt) - Date.parse(entryAt);
  return milliseconds >= 0 && milliseconds <= 600_000;
}

const roleMeasures: readonly (readonly [string, Exclude<Measure, "average">])[] = [
  ["full-load", "fullLoad"],
  ["light-load", "lightLoad"],
  ["power-factor", "powerFactor"],
];

function samePass(
  pass: ReportedPass | null,
  name: "as-found" | "as-left",
  verdict: string | null,
  average: string | null,
  creeps: boolean | null,
  { points }: RecordedTest,
  roles: ReadonlyMap<string, string>,
): boolean {
  if (pass === null || verdict === null) return pass === null && verdict === null;
  if (pass.verdict !== verdict || pass.creeps !== creeps || !sameDecimal(pass.average, average)) return false;
  const own = points.filter((point) => point.pass === name);
  return roleMeasures.every(([role, measure]) => {
    const of = own.filter(({ pointKey }) => roles.get(pointKey) === role);
    const greatest = of
      .map(({ registrationPercent }) => registrationPercent)
      .sort((a, b) => new Decimal(a).cmp(b))
      .at(-1);
    const fails = of.some((point) => point.verdict === "fail");
    return sameDecimal(pass[measure], greatest ?? null) && pass.outside.includes(measure) === fails;
  });
}

function sameDecimal(a: string | null, b: string | null): boolean {
  if (a === null || b === null) return a === b;
  return isDecimal(a) && isDecimal(b) && new Decimal(a).equals(b);
}

function isDecimal(text: string): boolean {
  return /^-?\d{1,40}(\.\d{1,40})?$/.test(text);
}

/** Judges a test again; whether that could be done. */
function judge(test: ReportedTest, recorded: RecordedTest, grounds: AllGrounds, findings: Findings): boolean {
  const profile = grounds.profiles.get(recorded.profileId);
  const plan = grounds.plans.get(recorded.planId);
  const phases = grounds.phases.get(test.typeId);
  const calibration =
    recorded.calibrationId === null ? null : grounds.calibrations.get(recorded.calibrationId);
  if (plan === undefined || calibration === undefined) return false;
  if (profile === undefined) {
    findings.wrong(
      "profile-missing",
      `The version of the rules that judged test ${test.id} is not in the bundle.`,
    );
    return false;
  }
  if (recorded.engineVersion !== engineVersion || phases === undefined) {
    findings.unknown(
      "test-not-judged-again",
      recorded.engineVersion === engineVersion
        ? `Test ${test.id} is of a type that the report does not name, so it was not judged again.`
        : `Test ${test.id} was judged by version ${recorded.engineVersion} of the arithmetic, and this is ${engineVersion}.`,
    );
    return false;
  }
  let again: JudgedAgain | null = null;
  try {
    again = judgeAgain(recorded, { profile, plan, phases, points: calibration?.points ?? null });
  } catch (error) {
    if (!(error instanceof RangeError) && !(error instanceof TypeError)) throw error;
  }
  if (again === null) {
    findings.wrong(
      "test-judged-otherwise",
      `Judged again from what was typed, test ${test.id} does not come out as its entry says.`,
    );
  } else if (
    (test.asFound?.outside.includes("average") ?? null) !== again.averageFails.asFound ||
    (test.asLeft?.outside.includes("average") ?? null) !== again.averageFails.asLeft
  ) {
    findings.wrong(
      "test-differs",
      `Test ${test.id} is not what its entry recorded: whether its average is outside limits.`,
    );
  }
  return true;
}

/** Records that one outside the report stands in for: its meter, its date or its rules were the mistake. */
function supersededOutside({ entries }: Bundle, { cutoff }: ReportBody): Map<string, string> {
  return new Map(
    entries.flatMap((entry): [string, string][] => {
      const by = entry.payload.supersedesId;
      return isOfOneTest(entry) && typeof by === "string" && entry.at <= cutoff
        ? [[by, entry.subjectId]]
        : [];
    }),
  );
}

/** Rules judge once somebody else than their author has approved them. */
function checkApproved(
  used: ReadonlyMap<string, { testId: string; index: number }>,
  { entries }: Bundle,
  findings: Findings,
): void {
  for (const [id, { testId, index }] of used) {
    const of = (action: string) =>
      entries.find((entry) => entry.subjectId === id && entry.action === action && entry.index < index);
    const added = of("profile.add");
    const decided = of("profile.decide");
    if (
      added === undefined ||
      decided?.payload.outcome !== "approved" ||
      (added.actorId !== null && added.actorId === decided.actorId)
    ) {
      findings.wrong(
        "profile-not-approved",
        `Test ${testId} was judged by rules that nobody but their author had approved until then.`,
      );
    }
  }
}

/** An amended record is one that another record of the bundle stands in for, and no other record is. */
function checkStates(
  superseded: ReadonlyMap<string, string>,
  states: ReadonlyMap<string, ReportedTest["state"]>,
  findings: Findings,
): void {
  for (const [id, by] of superseded) {
    const state = states.get(id);
    if (state !== undefined && state !== "amended") {
      findings.wrong("test-state", `Test ${id} counts, though test ${by} stands in for it.`);
    }
  }
  for (const [id, state] of states) {
    if (state === "amended" && !superseded.has(id)) {
      findings.wrong("test-state", `Test ${id} is left out as amended, and no entry stands in for it.`);
    }
  }
}

/** The date of the test before cannot be earlier than a test of the same meter that stands in the bundle before it. */
function checkPrevious(
  tests: readonly { id: string; meterId: string; at: string; on: string | null }[],
  lastOf: ReadonlyMap<string, readonly { at: string; on: string }[]>,
  findings: Findings,
): void {
  for (const { id, meterId, at, on } of tests) {
    for (const other of lastOf.get(meterId) ?? []) {
      if (other.at < at && (on === null || on < other.on)) {
        findings.wrong(
          "test-before",
          `Test ${id} names ${on ?? "none"} as the test before it, and there is one of ${other.on}.`,
        );
        break;
      }
    }
  }
}
