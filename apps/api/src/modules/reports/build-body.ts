import { createHash } from "node:crypto";
import type { ReportBody } from "@sealbook/contract/reports";
import { reportBodySchema } from "@sealbook/contract/reports";
import { engineVersion } from "@sealbook/metrology/engine-version";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { ruleProfileSchema } from "@sealbook/metrology/profiles/profile-schema";
import { figureChanges } from "@sealbook/metrology/reports/figure-changes";
import { lotLine, rejectedLot } from "@sealbook/metrology/reports/lot-lines";
import type { CountedTest } from "@sealbook/metrology/reports/reported-test";
import { summariser } from "@sealbook/metrology/reports/summarise";
import type { CountingTerms } from "@sealbook/metrology/reports/test-counter";
import type pg from "pg";
import type { Source } from "../../platform/transaction.ts";
import { profileById } from "../profiles/profiles.ts";
import {
  findActions,
  findDecidedLots,
  findDueDates,
  findSetAsideRows,
  findStandardLines,
  findTypes,
} from "./facts.ts";
import { readCountedTests, readTests, type TestsOfReport } from "./read-tests.ts";
import { findPlace, findReport, findShopOfReport, type StoredReport } from "./store.ts";
import type { FinishedTests, TestsFile } from "./tests-file.ts";

type Bands = NonNullable<RuleProfile["reportBands"]>;

const caution =
  "Counted by the rules of the profile named here. Verify against the current text; local rules govern.";

/** Parts of a report that two editions are compared in. */
const comparedParts = [
  "manifest",
  "summary",
  "lots",
  "rejectedLots",
  "actions",
  "standards",
  "setAsideRows",
] as const;

/**
 * Makes a report of what is on record up to a moment: every record of a test is read once, counted, and handed on to the
 * file of the manifest where the figures are being fixed.
 *
 * @param cutoff  records up to this moment are in; see settledMoment
 * @param file    takes the records in order of their ids; null for a draft, whose manifest then has no root
 */
export async function buildBody(
  pool: Pick<pg.Pool, "connect">,
  source: Source,
  report: StoredReport,
  cutoff: Date,
  file: TestsFile | null,
): Promise<{ body: ReportBody; manifest: FinishedTests | null }> {
  const shop = await findShopOfReport(source);
  const tests = await testsOfReport(source, report, cutoff);
  const before = report.correctsId === null ? null : await findReport(source, report.correctsId);
  const lateSince = before?.figures?.cutoff.toISOString() ?? null;
  const profile = await profileRef(source, report.profileId);
  const layout = await profileRef(source, report.layoutProfileId);
  const types = await findTypes(source);
  const terms = countingTerms(layout.bands, types, lateSince);

  const counting = summariser(terms);
  const dueDates = await findDueDates(source);
  const testsOf = new Map<string, number>();
  const pastDue = new Map<string, number>();
  const usedTypes = new Set<string>();
  let records = 0;
  const count = (test: CountedTest) => {
    records += 1;
    counting.add(test);
    if (test.state !== "counted") return;
    usedTypes.add(test.typeId);
    if (test.standardId === null) return;
    add(testsOf, test.standardId);
    const due = test.calibrationId === null ? undefined : dueDates.get(test.calibrationId);
    if (due !== undefined && test.performedOn > due) add(pastDue, test.standardId);
  };
  if (file === null) {
    await readCountedTests(pool, tests, count);
  } else {
    await readTests(pool, tests, (test) => {
      file.add(test);
      count(test);
    });
  }
  const manifest = file?.finish() ?? null;
  const lots = await findDecidedLots(source, tests);
  const body: Omit<ReportBody, "changes"> = {
    format: 1,
    id: report.id,
    title: report.title,
    shop: shop.name,
    timeZone: shop.timeZone,
    period: { from: report.periodFrom, to: report.periodTo },
    place: report.placeId === null ? null : await findPlace(source, report.placeId),
    profile: profile.ref,
    layout: layout.ref,
    edition: report.edition,
    corrects:
      before?.figures == null
        ? null
        : {
            id: before.id,
            edition: before.edition,
            sha256: before.figures.sha256,
            reason: report.correctionReason ?? "",
          },
    cutoff: cutoff.toISOString(),
    lateSince,
    engineVersion,
    manifest: { tests: records, root: manifest?.root ?? null },
    types: types.filter(({ id }) => usedTypes.has(id)),
    summary: counting.result(),
    lots: lots.map(lotLine),
    rejectedLots: lots.flatMap((lot) => rejectedLot(lot) ?? []),
    actions: await findActions(source, tests),
    standards: await findStandardLines(source, tests, testsOf, pastDue),
    setAsideRows: await findSetAsideRows(source, tests),
    caution,
  };
  const changes =
    before?.figures == null
      ? null
      : figureChanges(partsOf(readBody(before.figures.body)), partsOf(body)).map((change) => ({ ...change }));
  return { body: { ...body, changes }, manifest };
}

/** A report's body as it was stored. */
export function readBody(text: string): ReportBody {
  return reportBodySchema.parse(JSON.parse(text));
}

/** What counting the tests of a body leans on: the same for the summary and for the list behind a number. */
export function termsOfBody(body: Pick<ReportBody, "types" | "lateSince">, bands: Bands): CountingTerms {
  return countingTerms(bands, body.types, body.lateSince);
}

export async function testsOfReport(
  source: Source,
  report: StoredReport,
  cutoff: Date,
): Promise<TestsOfReport> {
  const { timeZone } = await findShopOfReport(source);
  return {
    profileKey: report.profileKey,
    placeId: report.placeId,
    from: report.periodFrom,
    to: report.periodTo,
    timeZone,
    cutoff,
  };
}

/** The bands of a version of a profile. */
export async function bandsOf(source: Source, profileId: string): Promise<Bands> {
  return (await profileRef(source, profileId)).bands;
}

/** Bands for a report that uses none, because its profile was not asked for any. */
async function profileRef(source: Source, id: string): Promise<{ ref: ReportBody["profile"]; bands: Bands }> {
  const profile = await profileById(source, id);
  if (profile === null) throw new Error(`profile ${id} of a report is not on record`);
  const document = ruleProfileSchema.parse(JSON.parse(profile.body));
  return {
    ref: {
      id,
      key: profile.key,
      version: profile.version,
      title: profile.title,
      sha256: createHash("sha256").update(profile.body, "utf8").digest("hex"),
    },
    bands: document.reportBands ?? noBands,
  };
}

/** One band that takes everything. */
const noBands: Bands = {
  places: 1,
  bands: [{ label: "any registration", minPercent: null, maxPercent: null }],
  source: "The profile names no accuracy bands.",
};

function countingTerms(bands: Bands, types: ReportBody["types"], lateSince: string | null): CountingTerms {
  return { bands, phasesOfType: new Map(types.map(({ id, phases }) => [id, phases])), lateSince };
}

function partsOf(body: Omit<ReportBody, "changes">): object {
  return Object.fromEntries(comparedParts.map((part) => [part, body[part]]));
}

function add(counts: Map<string, number>, key: string): void {
  counts.set(key, (counts.get(key) ?? 0) + 1);
}
