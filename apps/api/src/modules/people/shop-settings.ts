import type { averagingSchema, Shop } from "@sealbook/contract/people";
import { z } from "zod";
import type { Database } from "../../platform/database.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { localDate } from "../../platform/local-date.ts";
import { ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Tx } from "../../platform/transaction.ts";
import { profileByKey, profilesInForce } from "../profiles/profiles.ts";
import { findAverageMethods, lockShop, type ShopRow, updateShop } from "./store.ts";

const averageMethodsSchema = z.record(z.string(), z.string());

/** Averaging methods that the utility has chosen: jurisdiction -> key of the profile's average. */
export function parseAverageMethods(text: string): Record<string, string> {
  return averageMethodsSchema.parse(JSON.parse(text));
}

/** Where a profile leaves the utility a choice of averages, and what was chosen. */
export async function getAveraging(database: Database): Promise<{ rows: z.infer<typeof averagingSchema>[] }> {
  const source = reading(database);
  const chosen = parseAverageMethods(await findAverageMethods(source));
  const rows = (await profilesInForce(source)).map(({ document }) => ({
    jurisdiction: document.key,
    title: document.title,
    choices: document.averages.map(({ key, rule }) => ({ key, label: rule.label, source: rule.source })),
    chosen: chosen[document.key] ?? null,
  }));
  return { rows };
}

/** Changes the shop's settings; tests on record keep the rules that they were judged by. */
export async function changeShop(
  tx: Tx,
  version: number,
  change: {
    name: string;
    timeZone: string;
    homeJurisdiction: string;
    averageMethods: Record<string, string>;
    reason: string;
  },
): Promise<Shop> {
  const now = await databaseTime(tx);
  const before = await lockShop(tx);
  if (before === null)
    throw new ProblemError("unavailable", "The shop is being set up; try again in a moment.");
  if (before.version !== version) {
    throw new ProblemError("stale", "Someone changed the shop's settings since you opened them.", {
      current: toShop(before, now),
    });
  }
  if (!isTimeZone(change.timeZone)) {
    throw refusedByRule("/timeZone", `"${change.timeZone}" is not a time zone such as America/New_York.`);
  }
  if ((await profileByKey(tx, change.homeJurisdiction)) === null) {
    throw refusedByRule(
      "/homeJurisdiction",
      `There is no rule profile "${change.homeJurisdiction}"; choose one of those on record.`,
    );
  }
  for (const [jurisdiction, key] of Object.entries(change.averageMethods)) {
    const profile = await profileByKey(tx, jurisdiction);
    if (profile === null || !profile.document.averages.some((average) => average.key === key)) {
      throw refusedByRule(
        `/averageMethods/${jurisdiction}`,
        `The rules of ${jurisdiction} have no average "${key}".`,
      );
    }
  }
  const { reason, ...after } = change;
  const entryId = await writeEntry(tx, {
    action: "shop.change",
    subjectType: "shop",
    subjectId: "shop",
    reason,
    payload: {
      before: {
        name: before.name,
        timeZone: before.time_zone,
        homeJurisdiction: before.home_jurisdiction,
        averageMethods: parseAverageMethods(before.average_methods),
      },
      after,
    },
  });
  await updateShop(tx, { ...after, averageMethods: JSON.stringify(after.averageMethods) }, entryId);
  return {
    name: after.name,
    timeZone: after.timeZone,
    homeJurisdiction: after.homeJurisdiction,
    demo: before.demo,
    today: localDate(now, after.timeZone),
    version: version + 1,
  };
}

function toShop(row: ShopRow, now: Date): Shop {
  return {
    name: row.name,
    timeZone: row.time_zone,
    homeJurisdiction: row.home_jurisdiction,
    demo: row.demo,
    today: localDate(now, row.time_zone),
    version: row.version,
  };
}

function isTimeZone(name: string): boolean {
  try {
    new Intl.DateTimeFormat("en", { timeZone: name });
    return true;
  } catch {
    return false;
  }
}
