import { setTimeout as sleep } from "node:timers/promises";
import { newId } from "@sealbook/api/platform/transaction";
import type { NewMeterTest } from "@sealbook/contract/meter-tests";
import { testPassword } from "../support/app.ts";
import { pass, registration } from "../support/meter-bench.ts";
import type { PreparedShop } from "./prepared-shop.ts";
import { type Answer, StubbornClient, type Tally } from "./stubborn-client.ts";

/** What somebody meant to do once, and what the service said of it. */
export interface Intent {
  readonly kind: "test" | "amendment" | "import" | "decision" | "approval";
  /** Its mark in the record: the remark of a test, else the id. */
  readonly mark: string;
  /** The record's id in the answer; null until it was answered. */
  acknowledged: string | null;
}

export interface Workload {
  readonly intents: readonly Intent[];
  readonly tally: Tally;
  /** Lets everybody finish what they are at, and waits for it. */
  finish(): Promise<void>;
}

export interface WorkloadOptions {
  readonly url: string;
  readonly shop: PreparedShop;
  readonly testers: number;
  /** Amending, importing and deciding beside the testing. */
  readonly all: boolean;
  /** False makes a new id and key for every attempt, as a client without idempotency keys would. */
  readonly keys: boolean;
}

/** People at work, all at once, until told to finish. */
export function startWorkload({ url, shop, testers, all, keys }: WorkloadOptions): Workload {
  const intents: Intent[] = [];
  const tally: Tally = { requests: 0, retries: 0, longest: 0, refusals: new Map() };
  let isFinishing = false;
  const mean = (kind: Intent["kind"], mark: string): Intent => {
    const intent: Intent = { kind, mark, acknowledged: null };
    intents.push(intent);
    return intent;
  };
  const client = async (username: string): Promise<StubbornClient> => {
    const one = new StubbornClient(url, username, tally);
    await one.signIn();
    return one;
  };
  const worker = async (username: string, step: (as: StubbornClient) => Promise<boolean>): Promise<void> => {
    const as = await client(username);
    while (!isFinishing && (await step(as))) await sleep(5);
  };

  let testsMeant = 0;
  const test = async (as: StubbornClient): Promise<boolean> => {
    testsMeant += 1;
    const mark = `intent ${testsMeant}`;
    const intent = mean("test", mark);
    const meterId = shop.meterIds[testsMeant % shop.meterIds.length] ?? "";
    const body = shop.aTest(meterId, { remarks: mark });
    const answer = await as.ask("/api/meter-tests", () => ({
      method: "POST",
      json: keys ? body : { ...body, id: newId() },
    }));
    intent.acknowledged = idIn(answer, 201);
    return true;
  };

  let amended = 0;
  const amend = async (as: StubbornClient): Promise<boolean> => {
    const first = intents.find(
      (intent, at) =>
        at >= amended &&
        intent.mark.startsWith("intent") &&
        intent.kind === "test" &&
        intent.acknowledged !== null,
    );
    if (first?.acknowledged == null) {
      await sleep(50);
      return true;
    }
    amended = intents.indexOf(first) + 1;
    const { body: record } = await as.ask(`/api/meter-tests/${first.acknowledged}`);
    const { signature: _, ...entered }: NewMeterTest = shop.aTest(record.meterId, {
      performedAt: record.performedAt,
      remarks: `${first.mark}, amended`,
      outcome: {
        kind: "tested",
        asFound: pass({ FL: registration("100"), LL: registration("99.5"), PF: registration("100") }),
        asLeft: { kind: "same" },
      },
    });
    const intent = mean("amendment", `${first.mark}, amended`);
    const answer = await as.ask(`/api/meter-tests/${first.acknowledged}/amendments`, {
      method: "POST",
      json: { ...entered, amendmentReason: "The light load was read from the wrong line", signature: null },
    });
    intent.acknowledged = idIn(answer, 201);
    return true;
  };

  let files = 0;
  const importFile = async (as: StubbornClient): Promise<boolean> => {
    const [fileId, importId] = [newId(), newId()];
    const csv = shop.aFile(files++);
    const intent = mean("import", importId);
    const kept = await as.ask(`/api/files?id=${fileId}`, {
      method: "POST",
      form: () => {
        const form = new FormData();
        form.set("file", new File([csv], "bench.csv", { type: "text/csv" }));
        return form;
      },
    });
    idIn(kept, 201);
    idIn(
      await as.ask("/api/imports", { method: "POST", json: { id: importId, kind: "meter-tests", fileId } }),
      201,
    );
    // Asking for a step that was already asked for is refused, which tells that the first asking arrived.
    await as.ask(`/api/imports/${importId}/check`, { method: "POST", json: { mappingId: shop.mappingId } });
    if ((await ended(as, importId, ["checked", "failed"])) === "failed") return true;
    await as.ask(`/api/imports/${importId}/run`, { method: "POST" });
    await ended(as, importId, ["done", "failed"]);
    intent.acknowledged = importId;
    return true;
  };

  const lots = [...shop.lots];
  const decide = async (
    as: StubbornClient,
    approver: StubbornClient,
    tester: StubbornClient,
  ): Promise<boolean> => {
    const lot = lots.shift();
    if (lot === undefined) {
      await sleep(200);
      return true;
    }
    for (const { meterId, workItemId } of lot.units) {
      const mark = `lot ${lot.id} ${meterId}`;
      const intent = mean("test", mark);
      const body = shop.aLotTest(meterId, {
        remarks: mark,
        reasons: ["new-shipment"],
        workItemIds: workItemId === null ? [] : [workItemId],
      });
      intent.acknowledged = idIn(await tester.ask("/api/meter-tests", { method: "POST", json: body }), 201);
    }
    const decisionId = newId();
    const decision = mean("decision", decisionId);
    const json = { id: decisionId, outcome: null, reason: "", steady: true, reducedApproved: false };
    answered(await as.ask(`/api/lots/${lot.id}/decision`, { method: "POST", json }), 201);
    decision.acknowledged = decisionId;
    const approvalId = newId();
    const approval = mean("approval", approvalId);
    const given = await approver.ask(`/api/lots/${lot.id}/approval`, {
      method: "POST",
      json: { id: approvalId, password: testPassword, note: "Looked at the readings" },
    });
    // Approving carries no key: after a broken connection the lot itself tells whether it was approved.
    if (given.status !== 201) {
      const { body } = await approver.ask(`/api/lots/${lot.id}`);
      if (body.state !== "approved") throw new Error(`a lot is not approved: ${JSON.stringify(given.body)}`);
    }
    approval.acknowledged = approvalId;
    return true;
  };

  const { technicians, engineer, approver } = shop;
  const working = [
    ...Array.from({ length: testers }, (_, at) => worker(technicians[at % technicians.length] ?? "", test)),
    ...(all
      ? [
          worker(engineer, amend),
          worker(technicians[0] ?? "", importFile),
          (async () => {
            const approving = await client(approver);
            const testing = await client(technicians[0] ?? "");
            await worker(engineer, (as) => decide(as, approving, testing));
          })(),
        ]
      : []),
  ];
  const everybody = Promise.all(working);
  // A worker's failure is told when the run ends, not as a rejection that nobody waits for yet.
  everybody.catch(() => undefined);
  return {
    intents,
    tally,
    async finish() {
      isFinishing = true;
      await everybody;
    },
  };
}

async function ended(as: StubbornClient, importId: string, states: readonly string[]): Promise<string> {
  for (;;) {
    const { body } = await as.ask(`/api/imports/${importId}`);
    if (states.includes(body.state)) return body.state;
    await sleep(100);
  }
}

function answered(answer: Answer, status: number): Answer {
  if (answer.status !== status) throw new Error(`answered ${answer.status}: ${JSON.stringify(answer.body)}`);
  return answer;
}

function idIn(answer: Answer, status: number): string {
  return answered(answer, status).body.id;
}
