import { type JudgingRules, judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { localDate } from "../../platform/local-date.ts";
import type { Source } from "../../platform/transaction.ts";
import { meterTypesById } from "../meter-types/meter-types.ts";
import { type StandardOnDate, standardsOnDates } from "../standards/standards.ts";
import { type PlanDocument, planDocument, profileDocument } from "./documents.ts";
import type { Gathered, MeterToTest, ProfileInForce, TestRequest } from "./recording-terms.ts";
import { findMetersToTest, findNewestProfileIds, findShopRules } from "./store.ts";

export function standardKey(standardId: string, localDate: string): string {
  return `${standardId} ${localDate}`;
}

/** Reads what any number of tests lean on, with a handful of statements for all of them together. */
export async function gatherForTests(source: Source, requests: readonly TestRequest[]): Promise<Gathered> {
  const { timeZone, homeJurisdiction, averageMethods } = await findShopRules(source);
  const meters = await gatherMeters(source, unique(requests.map(({ meterId }) => meterId)));
  for (const { meterId, at } of requests) {
    const meter = meters.get(meterId);
    if (meter !== undefined && at) meters.set(meterId, { ...meter, ...at });
  }
  const jurisdictions = unique([...meters.values()].map((meter) => meter.jurisdiction ?? homeJurisdiction));
  return {
    timeZone,
    homeJurisdiction,
    averageMethods,
    meters,
    plans: await gatherPlans(source, unique(requests.map(({ planId }) => planId))),
    profiles: await gatherProfiles(source, jurisdictions),
    standards: await gatherStandards(source, requests, timeZone),
  };
}

async function gatherMeters(source: Source, ids: readonly string[]): Promise<Map<string, MeterToTest>> {
  const found = await findMetersToTest(source, ids);
  const types = await meterTypesById(source, unique(found.map(({ typeId }) => typeId)));
  return new Map(
    found.flatMap(({ typeId, ...meter }) => {
      const type = types.get(typeId);
      return type === undefined ? [] : [[meter.id, { ...meter, type }]];
    }),
  );
}

async function gatherPlans(source: Source, ids: readonly string[]): Promise<Map<string, PlanDocument>> {
  const plans = new Map<string, PlanDocument>();
  for (const id of ids) {
    const plan = await planDocument(source, id);
    if (plan !== null) plans.set(id, plan);
  }
  return plans;
}

async function gatherProfiles(
  source: Source,
  jurisdictions: readonly string[],
): Promise<Map<string, ProfileInForce>> {
  const profiles = new Map<string, ProfileInForce>();
  for (const { key, id } of await findNewestProfileIds(source, jurisdictions)) {
    const document = await profileDocument(source, id);
    if (document !== null) profiles.set(key, { id, document });
  }
  return profiles;
}

async function gatherStandards(
  source: Source,
  requests: readonly TestRequest[],
  timeZone: string,
): Promise<Map<string, StandardOnDate>> {
  const wanted = new Map<string, { standardId: string; localDate: string }>();
  for (const { standardId, performedAt } of requests) {
    if (standardId === null) continue;
    const date = localDate(performedAt, timeZone);
    wanted.set(standardKey(standardId, date), { standardId, localDate: date });
  }
  const found = await standardsOnDates(source, [...wanted.values()]);
  return new Map(found.map((standard) => [standardKey(standard.standardId, standard.localDate), standard]));
}

/** The rules by which one meter is judged, read now: what rulesFor finds when a test of it is recorded. */
export async function gatherRules(
  source: Source,
  meter: Pick<MeterToTest, "jurisdiction" | "type">,
): Promise<ReturnType<typeof rulesFor>> {
  const { homeJurisdiction, averageMethods } = await findShopRules(source);
  const profiles = await gatherProfiles(source, [meter.jurisdiction ?? homeJurisdiction]);
  return rulesFor({ profiles, homeJurisdiction, averageMethods }, meter);
}

/** The rules by which a meter is judged; null when no profile is on record for its jurisdiction. */
export function rulesFor(
  gathered: Pick<Gathered, "profiles" | "homeJurisdiction" | "averageMethods">,
  meter: Pick<MeterToTest, "jurisdiction" | "type">,
): { profile: ProfileInForce; rules: JudgingRules } | null {
  const profile = gathered.profiles.get(meter.jurisdiction ?? gathered.homeJurisdiction);
  if (profile === undefined) return null;
  const { document } = profile;
  const method = gathered.averageMethods[document.key];
  return {
    profile,
    rules: judgingRulesFor(
      document,
      meter.type,
      fits(document, method, meter.type.phases) ? method : undefined,
    ),
  };
}

/** A method chosen for polyphase meters says nothing of single-phase ones, and the other way round. */
function fits(document: RuleProfile, method: string | undefined, phases: number): boolean {
  const average = document.averages.find(({ key }) => key === method);
  return (
    average !== undefined &&
    (average.phases === "any" || average.phases === (phases === 1 ? "single-phase" : "polyphase"))
  );
}

function unique(texts: readonly string[]): string[] {
  return [...new Set(texts)];
}
