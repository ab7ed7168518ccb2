import type { ReportBody } from "@sealbook/contract/reports";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { localDateOf } from "@sealbook/metrology/calendar/local-date-of";
import { Decimal } from "@sealbook/metrology/decimal";
import { engineVersion } from "@sealbook/metrology/engine-version";
import { inDecimals } from "@sealbook/metrology/in-decimals";
import { lotLine } from "@sealbook/metrology/reports/lot-lines";
import { evaluateLot } from "@sealbook/metrology/sampling/decision/evaluate-lot";
import {
  type LotEvaluation,
  lotEvaluationSchema,
} from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { type LotPlan, lotPlanSchema } from "@sealbook/metrology/sampling/decision/lot-plan-schema";
import { planLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import type { SampledPlace } from "@sealbook/metrology/sampling/decision/sampled-place";
import {
  type SamplingScheme,
  samplingSchemeSchema,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { z } from "zod";
import type { LineOf } from "./bundle-lines.ts";
import type { Findings } from "./finding.ts";
import type { LotTest } from "./lot-test.ts";
import type { Bundle } from "./read-bundle.ts";
import { parsed, type ReadEntry } from "./read-entry.ts";
import { sameFigures } from "./same-figures.ts";

/** Tests that counted in the decisions of a bundle's lots, by id. */
export function countedInLots(bundle: Bundle): Set<string> {
  return new Set(
    bundle.entries
      .filter(({ action }) => action === "lot.decide")
      .flatMap((entry) => [...testsOf(entry).values()].map(({ testId }) => testId)),
  );
}

const testsSchema = z.array(
  z.object({ place: z.int(), testId: z.string(), meterId: z.string(), counted: z.boolean() }),
);

/** Tests that counted in a decision, by their place in the sample. */
function testsOf(decided: ReadEntry): Map<number, { testId: string; meterId: string }> {
  const tests = testsSchema.safeParse(decided.payload.tests).data ?? [];
  return new Map(
    tests.filter(({ counted }) => counted).map(({ place, testId, meterId }) => [place, { testId, meterId }]),
  );
}

/**
 * Plans, draws and decides every lot once more, and holds the outcome against the ledger and the report.
 *
 * @param tests those of countedInLots, by id
 * @returns how many draws were repeated
 */
export function checkLots(
  bundle: Bundle,
  body: ReportBody,
  tests: ReadonlyMap<string, LotTest>,
  findings: Findings,
): number {
  const lots = new Map(bundle.lots.map((lot) => [lot.id, lot]));
  const evaluations = new Map(
    bundle.lots.flatMap(({ number, evaluation }) => {
      const read = lotEvaluationSchema.safeParse(parsed(evaluation)).data;
      return read === undefined ? [] : [[number, read] as const];
    }),
  );
  for (const line of body.lots) {
    if (!lots.has(line.id))
      findings.wrong("lot-missing", `Lot ${line.number} is in the report and not in the bundle.`);
  }
  let draws = 0;
  for (const lot of bundle.lots) {
    const line = body.lots.find(({ id }) => id === lot.id);
    if (line === undefined) {
      findings.wrong("lot-not-reported", `Lot ${lot.number} is in the bundle and not in the report.`);
      continue;
    }
    const scheme = samplingSchemeSchema.safeParse(parsed(lot.scheme)).data;
    const plan = lotPlanSchema.safeParse(parsed(lot.plan)).data;
    const evaluation = evaluations.get(lot.number);
    if (scheme === undefined || plan === undefined || evaluation === undefined) {
      findings.wrong("lot-differs", `Scheme, plan or decision of lot ${lot.number} cannot be read.`);
      continue;
    }
    const entries = bundle.entries.filter(
      ({ subjectId }) => subjectId === lot.id || subjectId === lot.schemeId,
    );
    checkPlan(lot, scheme, plan, entries, findings);
    draws += checkDraws(lot, plan, entries, findings);
    checkMeters(lot, entries, findings);
    checkPlaces(lot, tests, entries, findings);
    checkDecision(lot, scheme, plan, evaluation, entries, findings);
    checkLine(line, lot, plan, evaluation, evaluations, entries, findings);
    checkHands(line, lot, tests, entries, body.timeZone, findings);
  }
  checkRejected(body, bundle, findings);
  return draws;
}

function checkPlan(
  lot: LineOf<"lot">,
  scheme: SamplingScheme,
  plan: LotPlan,
  entries: readonly ReadEntry[],
  findings: Findings,
): void {
  const added = entries.find(({ action }) => action === "samplingScheme.add");
  if (
    added === undefined ||
    canonical(added.payload.body) !== canonicalJson(inDecimals(parsed(lot.scheme)))
  ) {
    findings.wrong("scheme-differs", `The sampling scheme of lot ${lot.number} is not the one on record.`);
  }
  const planned = entries.findLast(({ action }) => action === "lot.plan");
  const severities = Object.fromEntries(
    plan.characteristics.map(({ characteristic, severity, reasons }) => [
      characteristic,
      { severity, reasons },
    ]),
  );
  const again = planLot(scheme, plan.lotSize, severities);
  if (
    planned === undefined ||
    canonical(planned.payload.plan) !== canonicalJson(inDecimals(parsed(lot.plan))) ||
    again.kind === "refused" ||
    !sameFigures(again.plan, plan)
  ) {
    findings.wrong(
      "plan-of-lot-differs",
      `The plan of lot ${lot.number} is not the one on record, or not what its scheme gives.`,
    );
  }
}

function checkDraws(
  lot: LineOf<"lot">,
  plan: LotPlan,
  entries: readonly ReadEntry[],
  findings: Findings,
): number {
  const lists = entries.filter(({ action }) => action === "lot.list");
  const drawn = entries.filter(({ action }) => action === "lot.draw");
  if (drawn.length === 0 || drawn.length !== lot.draws.length) {
    findings.wrong(
      "draw-differs",
      `${drawn.length} draws of lot ${lot.number} are on record; ${lot.draws.length} are here.`,
    );
  }
  for (const draw of lot.draws) {
    const listed = lists.find(({ payload }) => payload.listId === draw.listId);
    const entry = drawn.find(({ payload }) => payload.listId === draw.listId);
    if (listed === undefined || entry === undefined) {
      findings.wrong("draw-differs", `A draw of lot ${lot.number} stands on no entry of the log.`);
      continue;
    }
    if (listed.index > entry.index) {
      findings.wrong(
        "list-after-draw",
        `The list of lot ${lot.number} entered the log after it was drawn from.`,
      );
    }
    if (draw.candidates.length !== plan.lotSize) {
      findings.wrong(
        "list-differs",
        `Lot ${lot.number} has ${plan.lotSize} meters, and ${draw.candidates.length} are in a list that was drawn from.`,
      );
    }
    if (draw.n !== plan.n || draw.spares !== plan.spares) {
      findings.wrong("draw-differs", `A draw of lot ${lot.number} is not as large as its plan asks.`);
    }
    const again = drawSample({
      candidates: draw.candidates,
      seed: draw.seed,
      n: draw.n,
      spares: draw.spares,
    });
    if (again.kind === "refused") {
      findings.wrong("draw-differs", `The draw of lot ${lot.number} cannot be repeated: ${again.sentence}`);
      continue;
    }
    if (again.listHash !== listed.payload.listHash || again.listHash !== entry.payload.listHash) {
      findings.wrong(
        "list-differs",
        `The list of lot ${lot.number} is not the one that was published before the draw.`,
      );
    }
    if (draw.seed !== entry.payload.seed) {
      findings.wrong("seed-differs", `The seed of lot ${lot.number} is not the one on record.`);
    }
    if (
      again.key !== entry.payload.key ||
      canonicalJson(again.sample) !== canonical(entry.payload.sample) ||
      canonicalJson(again.spares) !== canonical(entry.payload.spares)
    ) {
      findings.wrong(
        "draw-differs",
        `Drawn again, lot ${lot.number} gives another sample than the one on record.`,
      );
    }
  }
  return lot.draws.length;
}

const drawnSchema = z.object({ sample: z.array(z.string()), spares: z.array(z.string()) });
const followedSchema = z.array(z.object({ position: z.int(), kind: z.string(), place: z.int().nullable() }));

/** Whether each place is filled by the meter that the last draw gave it, or by a spare that was called up for it. */
function checkMeters(lot: LineOf<"lot">, entries: readonly ReadEntry[], findings: Findings): void {
  const last = entries.findLast(({ action }) => action === "lot.draw");
  if (last === undefined) return;
  const drawn = drawnSchema.safeParse(last.payload).data ?? { sample: [], spares: [] };
  const units = [...drawn.sample, ...drawn.spares];
  const calledUp = entries
    .filter(({ action, payload }) => action === "lot.follow" && payload.drawId === last.payload.drawId)
    .flatMap(({ payload }) => followedSchema.safeParse(payload.events).data ?? [])
    .filter(({ kind }) => kind === "called-up");
  const seen = new Set<string>();
  for (const { place, meter } of lot.places) {
    // What was left out may name no meter.
    if (meter === "") continue;
    const isDrawn =
      drawn.sample[place - 1] === meter ||
      calledUp.some((event) => event.place === place && units[event.position - 1] === meter);
    if (!isDrawn || seen.has(meter)) {
      findings.wrong(
        "meter-not-drawn",
        `Meter ${meter} is at place ${place} of lot ${lot.number} and was not drawn for it.`,
      );
    }
    seen.add(meter);
  }
}

/** Readings of the sample against the records of the tests that counted. */
function checkPlaces(
  lot: LineOf<"lot">,
  tests: ReadonlyMap<string, LotTest>,
  entries: readonly ReadEntry[],
  findings: Findings,
): void {
  const decided = entries.findLast(({ action }) => action === "lot.decide");
  const testAt = decided === undefined ? null : testsOf(decided);
  for (const { place, meter, outcome } of lot.places) {
    const counted = testAt?.get(place);
    if ((counted === undefined) !== (outcome.kind === "left-out" || outcome.kind === "waiting")) {
      findings.wrong(
        "reading-differs",
        `Place ${place} of lot ${lot.number} is not filled as its decision says.`,
      );
    }
    if (counted === undefined) continue;
    const test = tests.get(counted.testId);
    if (test === undefined) {
      findings.unknown(
        "reading-not-compared",
        `What was recorded of meter ${meter} in lot ${lot.number} is not in this bundle.`,
      );
    } else if (test.meterId !== counted.meterId || !agrees(outcome, test)) {
      findings.wrong(
        "reading-differs",
        `The result of meter ${meter} in lot ${lot.number} is not that of its test ${counted.testId}.`,
      );
    }
  }
}

function agrees(
  outcome: LineOf<"lot">["places"][number]["outcome"],
  { asFound, untestableReason }: LotTest,
): boolean {
  if (outcome.kind === "untestable") return untestableReason === outcome.reason;
  return (
    outcome.kind === "tested" &&
    asFound !== null &&
    asFound.verdict === outcome.verdict &&
    same(asFound.fullLoad, outcome.readings["full-load"]) &&
    same(asFound.lightLoad, outcome.readings["light-load"]) &&
    same(asFound.powerFactor, outcome.readings["power-factor"]) &&
    same(asFound.average, outcome.average)
  );
}

function checkDecision(
  lot: LineOf<"lot">,
  scheme: SamplingScheme,
  plan: LotPlan,
  evaluation: LotEvaluation,
  entries: readonly ReadEntry[],
  findings: Findings,
): void {
  const decided = entries.findLast(({ action }) => action === "lot.decide");
  if (
    decided === undefined ||
    canonical(decided.payload.evaluation) !== canonicalJson(inDecimals(parsed(lot.evaluation)))
  ) {
    findings.wrong("decision-differs", `The decision on lot ${lot.number} is not the one on record.`);
  }
  if (evaluation.engineVersion !== engineVersion) {
    findings.unknown(
      "not-decided-again",
      `Lot ${lot.number} was decided by version ${evaluation.engineVersion} of the arithmetic, and this is ${engineVersion}.`,
    );
    return;
  }
  try {
    if (!sameFigures(evaluateLot(scheme, plan, lot.places as SampledPlace[]), evaluation)) {
      findings.wrong(
        "decision-differs",
        `Decided again from its results, lot ${lot.number} comes out otherwise.`,
      );
    }
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    findings.wrong("decision-differs", `Lot ${lot.number} cannot be decided again: ${error.message}.`);
  }
}

function checkLine(
  line: ReportBody["lots"][number],
  lot: LineOf<"lot">,
  plan: LotPlan,
  evaluation: LotEvaluation,
  evaluations: ReadonlyMap<string, LotEvaluation>,
  entries: readonly ReadEntry[],
  findings: Findings,
): void {
  const decided = entries.findLast(({ action }) => action === "lot.decide");
  const approved = entries.findLast(({ action }) => action === "lot.approve");
  // Without the lot before, the change against it stays as reported.
  const since = line.characteristics.find(({ change }) => change !== null)?.change?.since;
  const earlier = since === undefined ? undefined : evaluations.get(since);
  const before = since === undefined || earlier === undefined ? null : { number: since, evaluation: earlier };
  const made = lotLine({ ...line, plan, evaluation, before, tested: [] });
  const said =
    before === null
      ? { ...line, characteristics: line.characteristics.map((one) => ({ ...one, change: null })) }
      : line;
  if (line.size !== plan.lotSize || line.number !== lot.number || !sameFigures(made, said)) {
    findings.wrong(
      "lot-differs",
      `What the report says of lot ${line.number} does not follow from its decision.`,
    );
  }
  if (decided !== undefined && decided.payload.outcome !== line.outcome) {
    findings.wrong("lot-differs", `The report gives lot ${line.number} another outcome than its decision.`);
  }
  if (
    line.approvedOn !== null &&
    (approved === undefined || approved.payload.decisionId !== lot.decisionId)
  ) {
    findings.wrong(
      "decision-not-approved",
      `The decision on lot ${line.number} is approved by no entry of the log.`,
    );
  }
}

/** Who decided and approved, and on which days: an approver has neither decided nor tested one of the sample. */
function checkHands(
  line: ReportBody["lots"][number],
  lot: LineOf<"lot">,
  tests: ReadonlyMap<string, LotTest>,
  entries: readonly ReadEntry[],
  timeZone: string,
  findings: Findings,
): void {
  const decided = entries.findLast(({ action }) => action === "lot.decide");
  const approved = entries.findLast(
    ({ action, payload }) => action === "lot.approve" && payload.decisionId === lot.decisionId,
  );
  for (const [entry, said, what] of [
    [decided, line.decidedOn, "decided"],
    [approved, line.approvedOn, "approved"],
  ] as const) {
    if (entry !== undefined && said !== null && !isDayOf(said, entry.at, timeZone)) {
      findings.wrong(
        "lot-date-differs",
        `Lot ${line.number} was ${what} on another day than the report says.`,
      );
    }
  }
  if (decided === undefined || approved === undefined) return;
  if (decided.actorId === approved.actorId) {
    findings.wrong(
      "decision-not-approved",
      `The decision on lot ${line.number} was approved by whoever made it.`,
    );
  }
  const ownTest = [...testsOf(decided).values()].some(
    ({ testId }) => approved.actorId !== null && tests.get(testId)?.testerId === approved.actorId,
  );
  if (ownTest) {
    findings.wrong(
      "decision-not-approved",
      `The decision on lot ${line.number} was approved by somebody who tested a meter of its sample.`,
    );
  }
}

/** Whether a moment fell on a day; a record and its entry are made in one transaction, some moments apart. */
function isDayOf(day: string, at: string, timeZone: string): boolean {
  const moment = Date.parse(at);
  return [-60_000, 0, 60_000].some((apart) => localDateOf(new Date(moment + apart), timeZone) === day);
}

/** Rejected lots are those that were not accepted, with the range of their results. */
function checkRejected(body: ReportBody, bundle: Bundle, findings: Findings): void {
  for (const line of body.lots) {
    const rejected = body.rejectedLots.find(({ id }) => id === line.id);
    if ((line.outcome === "not-accepted") !== (rejected !== undefined)) {
      findings.wrong(
        "lot-differs",
        `Lot ${line.number} is not listed among rejected lots as its outcome asks.`,
      );
      continue;
    }
    const places = bundle.lots.find(({ id }) => id === line.id)?.places ?? [];
    if (rejected === undefined || places.length === 0) continue;
    const averages = places.flatMap(({ outcome }) =>
      outcome.kind === "tested" && outcome.average !== null ? [new Decimal(outcome.average)] : [],
    );
    const least = averages.length === 0 ? null : Decimal.min(...averages).toFixed();
    const greatest = averages.length === 0 ? null : Decimal.max(...averages).toFixed();
    if (rejected.leastAsFound !== least || rejected.greatestAsFound !== greatest) {
      findings.wrong(
        "lot-differs",
        `The range of results of rejected lot ${line.number} is another than its tests give.`,
      );
    }
  }
}

function canonical(value: unknown): string | null {
  return value === undefined ? null : canonicalJson(value as CanonicalValue);
}

function same(one: string | null, other: string | null | undefined): boolean {
  if (one === null || other === null || other === undefined) return one === null && (other ?? null) === null;
  return new Decimal(one).equals(other);
}
