import type { DemoScenario } from "@sealbook/database/demo/scenario";
import type pg from "pg";
import type { DemoDay } from "./demo-sampling.ts";
import { profileByKey } from "./modules/profiles/profiles.ts";
import { draftReport, releaseReport, reviewReport, signReport } from "./modules/reports/reports.ts";
import { headToPrint } from "./platform/log/head-to-print.ts";
import type { LogSigner } from "./platform/log/log-signer.ts";
import { sequenceEntries } from "./platform/log/sequence-entries.ts";
import { inTransaction, newId } from "./platform/transaction.ts";

/**
 * The demo shop's report of last year: drafted in January by the quality engineer, reviewed by the supervisor, signed,
 * and released. Before that year's January is over, it is still a draft.
 *
 * @param pool   with a second connection to spare: a report is counted over one of its own
 * @param today  local date of the shop
 * @param signer signs the log's head that the released report prints; null prints none
 */
export function reportDays(
  pool: pg.Pool,
  scenario: DemoScenario,
  today: string,
  signer: LogSigner | null,
): DemoDay[] {
  const year = Number(today.slice(0, 4)) - 1;
  const id = newId();
  const passwordOf = (username: string) => {
    const person = scenario.people.find((one) => one.username === username);
    if (person === undefined) throw new RangeError(`the demo shop has ${username}`);
    return person.password;
  };
  const days: DemoDay[] = [
    {
      at: new Date(`${year + 1}-01-12T15:05:00Z`),
      username: "marguerite",
      async work(tx) {
        const profile = await profileByKey(tx, scenario.shop.homeJurisdiction);
        if (profile === null) throw new Error("the demo shop has the rules of its home");
        await draftReport({ pool }, tx, {
          kind: "first",
          id,
          title: `Meter tests of ${year}`,
          periodFrom: `${year}-01-01`,
          periodTo: `${year}-12-31`,
          profileId: profile.id,
          layoutProfileId: null,
          placeId: null,
        });
      },
    },
    {
      at: new Date(`${year + 1}-01-14T18:40:00Z`),
      username: "dorian",
      async work(tx) {
        await reviewReport({ pool }, tx, id, passwordOf("dorian"));
      },
    },
    {
      at: new Date(`${year + 1}-01-15T14:20:00Z`),
      username: "marguerite",
      async work(tx) {
        await signReport({ pool }, tx, id, passwordOf("marguerite"));
      },
    },
    {
      at: new Date(`${year + 1}-01-20T16:00:00Z`),
      username: "dorian",
      async work(tx) {
        while ((await inTransaction(pool, null, (apart) => sequenceEntries(apart))) > 0);
        const head = signer === null ? null : await headToPrint({ pool }, signer);
        await releaseReport({ pool }, tx, id, passwordOf("dorian"), head);
      },
    },
  ];
  return days.filter(({ at }) => at.toISOString().slice(0, 10) < today && at > scenario.opened);
}
