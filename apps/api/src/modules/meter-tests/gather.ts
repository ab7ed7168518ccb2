import { type JudgingRules, judgingRulesFor } from "@sealbook/metrology/profiles/judging-rules-for";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";
import { localDate } from "../../platform/local-date.ts";
import type { Source } from "../../platform/transaction.ts";
import { meterTypesById } from "../meter-types/meter-types.ts";
import { approvedVersions, versionOn } from "../profiles/profiles.ts";
import { type StandardOnDate, standardsOnDates } from "../standards/standards.ts";
import { type PlanDocument, planDocument, profileDocument } from "./documents.ts";
import type { Gathered, MeterToTest, PlaceOfTest, ProfileInForce, TestRequest } from "./recording-terms.ts";
import { findMetersToTest, findPlacesAt, findShopRules } from "./store.ts";

export function standardKey(standardId: string, localDate: string): string {
  return `${standardId} ${localDate}`;
}

export function placeKey(meterId: string, performedAt: Date): string {
  return `${meterId} ${performedAt.toISOString()}`;
}

/** Reads what any number of tests lean on, with a handful of statements for all of them together. */
export async function gatherForTests(source: Source, requests: readonly TestRequest[]): Promise<Gathered> {
  const { timeZone, homeJurisdiction, averageMethods } = await findShopRules(source);
  const meters = await gatherMeters(source, unique(requests.map(({ meterId }) => meterId)));
  const places = await gatherPlaces(source, requests, homeJurisdiction);
  const jurisdictions = unique([...places.values()].map(({ jurisdiction }) => jurisdiction));
  return {
    timeZone,
    averageMethods,
    meters,
    places,
    plans: await gatherPlans(source, unique(requests.flatMap(({ planId }) => planId ?? []))),
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

async function gatherPlaces(
  source: Source,
  requests: readonly TestRequest[],
  homeJurisdiction: string,
): Promise<Map<string, PlaceOfTest>> {
  const places = new Map(
    (await findPlacesAt(source, requests)).map(({ meterId, performedAt, placeId, jurisdiction }) => [
      placeKey(meterId, performedAt),
      { placeId, jurisdiction: jurisdiction ?? homeJurisdiction },
    ]),
  );
  for (const { meterId, performedAt, at } of requests) if (at) places.set(placeKey(meterId, performedAt), at);
  return places;
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
): Promise<Map<string, ProfileInForce[]>> {
  const profiles = new Map<string, ProfileInForce[]>();
  for (const { key, id, effectiveFrom } of await approvedVersions(source, jurisdictions)) {
    const document = await profileDocument(source, id);
    if (document === null) continue;
    profiles.set(key, [...(profiles.get(key) ?? []), { id, document, effectiveFrom }]);
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

/** The rules by which a type of meter is judged on a local date; null when the jurisdiction has none in force then. */
export function rulesFor(
  gathered: Pick<Gathered, "profiles" | "averageMethods">,
  jurisdiction: string,
  type: MeterToTest["type"],
  on: string,
): { profile: ProfileInForce; rules: JudgingRules } | null {
  const profile = versionOn(gathered.profiles.get(jurisdiction) ?? [], on);
  if (profile === undefined) return null;
  const { document, averageRule } = profile;
  const method = gathered.averageMethods[document.key];
  const rules = judgingRulesFor(document, type, fits(document, method, type.phases) ? method : undefined);
  return { profile, rules: averageRule === undefined ? rules : { ...rules, average: averageRule } };
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
