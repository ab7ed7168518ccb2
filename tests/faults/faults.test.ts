import { describe, expect, it } from "vitest";
import { type FaultReport, faults, runFaults } from "./fault-run.ts";

/**
 * What would break in the shop: a technician is told that a test is recorded, the power fails, and it is not; or he
 * presses the button again, and it is recorded twice.
 *
 * The check stands outside the service: clients remember what they were told, and plain SQL tells what is there. The
 * two controls take one protection away each, and must then find the harm: otherwise the check would be blind.
 */
const kills = Number(process.env.FAULT_KILLS ?? 30);
const say = (line: string): void => {
  process.stdout.write(`${line}\n`);
};

function tell(title: string, { kills: done, findings, ...rest }: FaultReport): void {
  say(`\n${title}`);
  for (const [fault, count] of Object.entries(done)) if (count > 0) say(`  ${fault.padEnd(26)} ${count}`);
  say(`  changes meant              ${findings.meant}`);
  for (const [kind, count] of Object.entries(findings.confirmedByKind)) {
    if (count > 0) say(`  ${`confirmed, ${kind}`.padEnd(26)} ${count}`);
  }
  say(`  rows put in by imports     ${findings.rowsImported}`);
  say(`  ledger entries             ${findings.entries}`);
  say(`  requests                   ${rest.requests}, of which asked again ${rest.retries}`);
  say(`  longest wait for an answer ${(rest.longestWait / 1000).toFixed(1)} s`);
  say(
    `  longest way back           ${(rest.longestRecovery / 1000).toFixed(1)} s from a fault to the next confirmed change`,
  );
  say(`  lost                       ${findings.lost.length}`);
  say(`  doubled                    ${findings.doubled.length}`);
  say(`  record and ledger disagree ${findings.unledgered.length}`);
}

describe("work under faults", () => {
  it(`loses nothing and doubles nothing in ${kills} of them`, async () => {
    const report = await runFaults({ kills, faults, testers: 6, all: true, keys: true, durable: true, say });
    tell(`${kills} faults under testing, amending, importing and deciding`, report);
    const { findings } = report;
    expect(findings.lost).toEqual([]);
    expect(findings.doubled).toEqual([]);
    expect(findings.unledgered).toEqual([]);
    expect(findings.confirmed).toBe(findings.meant);
    for (const [kind, count] of Object.entries(findings.confirmedByKind))
      expect(count, kind).toBeGreaterThan(0);
    for (const fault of faults) expect(report.kills[fault], fault).toBeGreaterThan(0);
    say(report.verified.said);
    expect(report.verified.isWell, report.verified.said).toBe(true);
    expect(report.exitCode).toBe(0);
  });
});

describe("the same check, with one protection taken away, finds the harm", () => {
  it("confirmed records are lost when PostgreSQL may confirm before it has written (synchronous_commit = off)", async () => {
    const report = await runFaults({
      kills: 20,
      faults: ["database stopped"],
      testers: 6,
      all: false,
      keys: true,
      durable: false,
      until: "lost",
      say,
    });
    tell("control: synchronous_commit = off", report);
    expect(report.findings.lost.length).toBeGreaterThan(0);
  });

  it("records are doubled when a retry carries no key of its first attempt", async () => {
    const report = await runFaults({
      kills: 40,
      faults: ["clients cut", "service killed"],
      testers: 6,
      all: false,
      keys: false,
      durable: true,
      until: "doubled",
      say,
    });
    tell("control: retries without idempotency keys", report);
    expect(report.findings.doubled.length).toBeGreaterThan(0);
    expect(report.findings.lost).toEqual([]);
  });
});
