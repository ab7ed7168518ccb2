import { randomInt } from "node:crypto";
import { setTimeout as sleep } from "node:timers/promises";
import { compare, type Findings, type VerifierSaid, verifyLog } from "./compare.ts";
import { type FaultyService, faultyService } from "./faulty-service.ts";
import { prepareShop } from "./prepared-shop.ts";
import { startWorkload, type Workload } from "./workload.ts";

/** What can be broken. */
export const faults = [
  "service killed",
  "database stopped",
  "database connections cut",
  "clients cut",
] as const;
type Fault = (typeof faults)[number];

export interface FaultRun {
  readonly kills: number;
  /** Which faults, in turn. */
  readonly faults: readonly Fault[];
  readonly testers: number;
  /** Amending, importing and deciding beside the testing. */
  readonly all: boolean;
  /** False: clients without idempotency keys. */
  readonly keys: boolean;
  /** False: confirmed transactions may still be in memory (synchronous_commit = off). */
  readonly durable: boolean;
  /** Ends the run before all kills once it has shown this. */
  readonly until?: "lost" | "doubled";
  readonly say: (line: string) => void;
}

export interface FaultReport {
  readonly kills: Readonly<Record<Fault, number>>;
  readonly findings: Findings;
  /** What the project's verifier said of ledger and log. */
  readonly verified: VerifierSaid;
  /** Of the service when it was asked to stop at the end. */
  readonly exitCode: number | null;
  readonly requests: number;
  readonly retries: number;
  /** Longest wait of a client for any answer, in milliseconds. */
  readonly longestWait: number;
  /** Longest time from a fault until somebody's change was confirmed again, in milliseconds. */
  readonly longestRecovery: number;
}

/** Shipments whose samples are drawn beforehand; deciding one takes its tests, a decision and an approval. */
const lotsToDecide = 24;
/** Work goes on again within this time after a fault, or the run fails. */
const recoverWithin = 60_000;

/** Lets people work, breaks things under them so many times, and then holds what they were told against the book. */
export async function runFaults(run: FaultRun): Promise<FaultReport> {
  const service = await faultyService();
  try {
    const shop = await prepareShop(service, run.all ? lotsToDecide : 0);
    if (!run.durable) await service.admin.query("ALTER ROLE sealbook_app SET synchronous_commit = off");
    const settings = run.durable ? {} : { REQUIRE_DURABLE_DATABASE: "false" };
    await service.startApi(settings);
    const workload = startWorkload({ url: service.url, shop, ...run });
    const done = Object.fromEntries(faults.map((fault) => [fault, 0])) as Record<Fault, number>;
    let longestRecovery = 0;
    await untilConfirmed(workload, 0);
    for (let kill = 0; kill < run.kills; kill++) {
      const fault = run.faults[kill % run.faults.length] as Fault;
      // At an instant that nobody chose: the dangerous ones last a millisecond.
      await sleep(randomInt(60, 900));
      const confirmed = countConfirmed(workload);
      const began = performance.now();
      await breakIt(service, fault, settings);
      await untilConfirmed(workload, confirmed + run.testers + 1);
      const recovery = performance.now() - began;
      longestRecovery = Math.max(longestRecovery, recovery);
      done[fault] += 1;
      if ((kill + 1) % 25 === 0) {
        const { confirmed, lost, doubled } = await compare(service, workload.intents);
        run.say(
          `  after ${kill + 1} faults: ${confirmed} changes confirmed, ${lost.length} lost, ${doubled.length} doubled`,
        );
      }
      if (run.until !== undefined && (await compare(service, workload.intents))[run.until].length > 0) break;
    }
    await workload.finish();
    const findings = await compare(service, workload.intents);
    const verified = await verifyLog(service);
    const exitCode = await service.stopApi();
    return {
      kills: done,
      findings,
      verified,
      exitCode,
      requests: workload.tally.requests,
      retries: workload.tally.retries,
      longestWait: workload.tally.longest,
      longestRecovery,
    };
  } finally {
    await service.close();
  }
}

async function breakIt(
  service: FaultyService,
  fault: Fault,
  settings: Record<string, string>,
): Promise<void> {
  switch (fault) {
    case "service killed":
      await service.killApi();
      await service.startApi(settings);
      break;
    case "database stopped":
      await service.crashDatabase();
      break;
    case "database connections cut":
      await service.cutDatabaseConnections();
      break;
    case "clients cut":
      service.cutClients();
      break;
  }
}

function countConfirmed({ intents }: Workload): number {
  return intents.filter(({ acknowledged }) => acknowledged !== null).length;
}

async function untilConfirmed(workload: Workload, count: number): Promise<void> {
  const end = Date.now() + recoverWithin;
  while (countConfirmed(workload) <= count) {
    if (Date.now() > end)
      throw new Error(`nothing was confirmed within ${recoverWithin / 1000} s of a fault`);
    await sleep(10);
  }
}
