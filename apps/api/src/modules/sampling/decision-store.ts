import type { LotOutcome } from "@sealbook/contract/lot-terms";
import type { Decision } from "@sealbook/contract/sampling";
import { ledgerEntryHash } from "@sealbook/evidence/ledger-entry";
import { lotEvaluationSchema } from "@sealbook/metrology/sampling/decision/lot-evaluation-schema";
import { personRef } from "../../platform/person-ref.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { nameOf } from "./name-of.ts";

export async function insertDecision(
  tx: Tx,
  decision: {
    id: string;
    lotId: string;
    outcome: LotOutcome;
    byPerson: boolean;
    reason: string;
    steady: boolean;
    reducedApproved: boolean;
    evaluation: string;
    engineVersion: string;
  },
  tests: readonly { testId: string; meterId: string; place: number; counted: boolean }[],
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO decision (id, lot_id, outcome, by_person, reason, steady, reduced_approved, evaluation, engine_version, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
    [
      decision.id,
      decision.lotId,
      decision.outcome,
      decision.byPerson,
      decision.reason,
      decision.steady,
      decision.reducedApproved,
      decision.evaluation,
      decision.engineVersion,
      entryId,
    ],
  );
  await tx.query(
    `INSERT INTO decision_test (decision_id, test_id, meter_id, place, counted, entry_id)
     SELECT $1, t.test_id, t.meter_id, t.place, t.counted, $2
     FROM unnest($3::uuid[], $4::uuid[], $5::int[], $6::boolean[]) AS t (test_id, meter_id, place, counted)`,
    [
      decision.id,
      entryId,
      tests.map(({ testId }) => testId),
      tests.map(({ meterId }) => meterId),
      tests.map(({ place }) => place),
      tests.map(({ counted }) => counted),
    ],
  );
}

interface DecisionRow {
  id: string;
  outcome: LotOutcome;
  by_person: boolean;
  reason: string;
  steady: boolean;
  reduced_approved: boolean;
  evaluation: string;
  decided_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  entry_id: string;
  at: Date;
  entry_actor_id: string | null;
  action: string;
  subject_type: string;
  subject_id: string;
  entry_reason: string | null;
  payload: string;
  approval_id: string | null;
  approver_id: string;
  approver_name: string | null;
  approval_note: string;
  approval_hash: string;
  signed_at: Date;
  approval_entry_id: string;
}

export async function findDecision(source: Source, lotId: string): Promise<Decision | null> {
  const [row] = await source.query<DecisionRow>(
    `SELECT k.id, k.outcome, k.by_person, k.reason, k.steady, k.reduced_approved, k.evaluation, k.decided_at, k.actor_id,
       p.value AS actor_name, k.entry_id, e.at, e.actor_id AS entry_actor_id, e.action, e.subject_type, e.subject_id,
       e.reason AS entry_reason, e.payload, a.id AS approval_id, a.account_id AS approver_id, q.value AS approver_name,
       a.note AS approval_note, a.record_hash AS approval_hash, a.signed_at, a.entry_id AS approval_entry_id
     FROM decision k JOIN ledger_entry e ON e.id = k.entry_id LEFT JOIN approval a ON a.decision_id = k.id
     ${nameOf("k.actor_id", "p")} ${nameOf("a.account_id", "q")}
     WHERE k.lot_id = $1`,
    [lotId],
  );
  if (row === undefined) return null;
  const tests = await source.query<{
    test_id: string;
    meter_id: string;
    utility_number: string;
    place: number;
    counted: boolean;
    performed_at: Date;
    tester_id: string;
    tester_name: string | null;
    superseded_by_id: string | null;
  }>(
    `SELECT d.test_id, d.meter_id, m.utility_number, d.place, d.counted, t.performed_at, t.tester_id, p.value AS tester_name,
       (SELECT n.id FROM meter_test n WHERE n.supersedes_id = t.id) AS superseded_by_id
     FROM decision_test d JOIN meter_test t ON t.id = d.test_id JOIN meter m ON m.id = d.meter_id ${nameOf("t.tester_id", "p")}
     WHERE d.decision_id = $1 ORDER BY d.place, t.performed_at, d.test_id`,
    [row.id],
  );
  return {
    id: row.id,
    outcome: row.outcome,
    byPerson: row.by_person,
    reason: row.reason,
    steady: row.steady,
    reducedApproved: row.reduced_approved,
    evaluation: lotEvaluationSchema.parse(JSON.parse(row.evaluation)),
    tests: tests.map((test) => ({
      testId: test.test_id,
      meterId: test.meter_id,
      utilityNumber: test.utility_number,
      place: test.place,
      counted: test.counted,
      performedAt: test.performed_at.toISOString(),
      tester: personRef(test.tester_id, test.tester_name),
      supersededById: test.superseded_by_id,
    })),
    decidedAt: row.decided_at.toISOString(),
    decidedBy: personRef(row.actor_id, row.actor_name),
    entryId: row.entry_id,
    recordHash: ledgerEntryHash({
      id: row.entry_id,
      at: row.at.toISOString(),
      actorId: row.entry_actor_id,
      action: row.action,
      subjectType: row.subject_type,
      subjectId: row.subject_id,
      reason: row.entry_reason,
      payload: row.payload,
    }),
    approval:
      row.approval_id === null
        ? null
        : {
            id: row.approval_id,
            person: personRef(row.approver_id, row.approver_name),
            meaning: "approved",
            signedAt: row.signed_at.toISOString(),
            recordHash: row.approval_hash,
            note: row.approval_note,
            entryId: row.approval_entry_id,
          },
  };
}

/** What an account had to do with a decision, with the meters concerned. */
export async function findHands(
  source: Source,
  decisionId: string,
  accountId: string,
): Promise<
  { kind: "decided" | "tested" | "recorded"; test_id: string | null; utility_number: string | null }[]
> {
  return await source.query(
    `SELECT h.kind, h.test_id, m.utility_number FROM hands_in_decision($1) h LEFT JOIN meter m ON m.id = h.meter_id
     WHERE h.account_id = $2 ORDER BY h.kind, m.utility_number, h.test_id`,
    [decisionId, accountId],
  );
}

export async function insertApproval(
  tx: Tx,
  approval: { id: string; decisionId: string; note: string; recordHash: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    "INSERT INTO approval (id, decision_id, note, record_hash, entry_id) VALUES ($1, $2, $3, $4, $5)",
    [approval.id, approval.decisionId, approval.note, approval.recordHash, entryId],
  );
}
