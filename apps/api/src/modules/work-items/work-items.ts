import { may } from "@sealbook/contract/permissions";
import { type TestReason, testReasonNames, type WorkItem } from "@sealbook/contract/work-items";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isForeignKeyViolation, isUniqueViolation } from "../../platform/database-errors.ts";
import { findActor } from "../../platform/find-actor.ts";
import { writeEntries, writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import {
  closeWork,
  findAskedStill,
  findOpenReason,
  findOpenWork,
  findWorkItem,
  finishWork,
  insertWorkItem,
  insertWorkItems,
  lockWorkItem,
  lockWorkOfDraws,
  reopenWork,
  updateAssignee,
} from "./store.ts";

export async function listWorkItems(
  database: Database,
  query: { cursor?: string | undefined; limit: number; meterId?: string | undefined },
): Promise<{ rows: WorkItem[]; next: string | null }> {
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2).map(String);
  const after = key === null ? null : { dueOn: key[0] ?? "", id: key[1] ?? "" };
  const rows = await findOpenWork(reading(database), {
    meterId: query.meterId,
    after,
    limit: query.limit + 1,
  });
  return toPage(rows, query.limit, (row) => [row.dueOn ?? "infinity", row.id]);
}

/** Open work of one meter, most urgent first, at most fifty. */
export async function openWorkOf(source: Source, meterId: string): Promise<WorkItem[]> {
  return await findOpenWork(source, { meterId, after: null, limit: 50 });
}

export async function openWorkItem(
  tx: Tx,
  item: {
    id: string;
    meterId: string;
    reason: TestReason;
    dueOn: string | null;
    note: string;
    assigneeId?: string | null | undefined;
  },
): Promise<WorkItem> {
  await refuseElsewhere(tx, { meterIds: [item.meterId] });
  const assigneeId = item.assigneeId ?? null;
  await refuseHandingOver(tx, null, assigneeId);
  const asked = await findOpenReason(tx, item.meterId, item.reason);
  if (asked !== null) throw askedAlready(item.reason, asked.dueOn);
  const entryId = await writeEntry(tx, {
    action: "workItem.open",
    subjectType: "workItem",
    subjectId: item.id,
    payload: {
      meterId: item.meterId,
      reason: item.reason,
      dueOn: item.dueOn,
      note: item.note,
      ...(assigneeId === null ? {} : { assigneeId }),
    },
  });
  try {
    await insertWorkItem(tx, { ...item, assigneeId }, entryId);
  } catch (error) {
    if (isForeignKeyViolation(error)) throw notFound("meter");
    if (isUniqueViolation(error, "work_item_open_reason")) throw askedAlready(item.reason, null);
    if (isUniqueViolation(error)) throw new ProblemError("already-exists", "This work is on record already.");
    throw error;
  }
  const opened = await findWorkItem(tx, item.id);
  if (opened === null) throw notFound("work item");
  return opened;
}

/** Takes a piece of open work, hands it to somebody who records tests, or gives it back. */
export async function assignWork(
  tx: Tx,
  id: string,
  version: number,
  assigneeId: string | null,
): Promise<WorkItem> {
  const before = await lockWorkItem(tx, id);
  if (before === null) throw notFound("piece of work");
  if (before.item.version !== version) {
    throw new ProblemError("stale", "Someone changed this work since you opened it.", {
      current: before.item,
    });
  }
  if (!before.isOpen) throw new ProblemError("wrong-state", "This work is done or closed already.");
  await refuseElsewhere(tx, { meterIds: [before.item.meterId] });
  await refuseHandingOver(tx, before.item.assignee?.id ?? null, assigneeId);
  const entryId = await writeEntry(tx, {
    action: "workItem.assign",
    subjectType: "workItem",
    subjectId: id,
    payload: { before: { assigneeId: before.item.assignee?.id ?? null }, after: { assigneeId } },
  });
  await updateAssignee(tx, id, assigneeId, entryId);
  const after = await findWorkItem(tx, id);
  if (after === null) throw notFound("piece of work");
  return after;
}

/** A technician takes work and gives back their own; who gets what beyond that is the supervisor's or engineer's. */
async function refuseHandingOver(tx: Tx, from: string | null, to: string | null): Promise<void> {
  if (from === to) return;
  const actor = tx.actor;
  const isOwn = actor !== null && [from, to].every((id) => id === null || id === actor.id);
  if (!isOwn && actor?.role === "technician") {
    throw new ProblemError(
      "not-permitted",
      "You may take work that is nobody's and give your own back; a supervisor or quality engineer hands it to others.",
    );
  }
  if (to === null || to === actor?.id) return;
  const worker = await findActor(tx, to);
  if (worker === null || !may(worker.role, "meterTest.record")) {
    throw refusedByRule("/assigneeId", "This person records no tests; choose somebody who does.");
  }
}

function askedAlready(reason: TestReason, dueOn: string | null): ProblemError {
  const due = dueOn === null ? "" : `, due ${dueOn}`;
  const detail = `A test of this meter for this reason is asked for already (${testReasonNames[reason].toLowerCase()}${due}): it answers both.`;
  return new ProblemError("already-exists", detail, { errors: [{ pointer: "/reason", detail }] });
}

/** Asks for tests of a draw's meters at once, each with its own ledger entry; the meters are on record. */
export async function openWorkItems(
  tx: Tx,
  items: readonly {
    id: string;
    meterId: string;
    reason: TestReason;
    dueOn: string | null;
    note: string;
    drawId: string;
  }[],
): Promise<void> {
  if (items.length === 0) return;
  const entryIds = await writeEntries(
    tx,
    items.map(({ id, meterId, reason, dueOn, note, drawId }) => ({
      action: "workItem.open",
      subjectType: "workItem",
      subjectId: id,
      payload: { meterId, reason, dueOn, note, drawId },
    })),
  );
  await insertWorkItems(tx, items, entryIds);
}

/**
 * Closes what is still open of the work that draws asked for, without a test, each with its own ledger entry.
 *
 * @param drawIds   the draws
 * @param reasonFor why the work on a meter is closed; null leaves it open
 */
export async function closeWorkOfDraws(
  tx: Tx,
  drawIds: readonly string[],
  reasonFor: (meterId: string) => string | null,
): Promise<void> {
  const closings = (await lockWorkOfDraws(tx, drawIds)).flatMap(({ id, meter_id: meterId }) => {
    const reason = reasonFor(meterId);
    return reason === null ? [] : [{ id, meterId, reason }];
  });
  if (closings.length === 0) return;
  const entryIds = await writeEntries(
    tx,
    closings.map(({ id, meterId, reason }) => ({
      action: "workItem.close",
      subjectType: "workItem",
      subjectId: id,
      reason,
      payload: { meterId },
    })),
  );
  await closeWork(tx, closings, entryIds);
}

/**
 * Marks work as answered by a test, in the test's own transaction.
 * @throws ProblemError wrong-state when someone else answered it first
 */
export async function finishWorkItems(
  tx: Tx,
  meterId: string,
  testId: string,
  workItemIds: readonly string[],
): Promise<void> {
  for (const id of workItemIds) {
    const entryId = await writeEntry(tx, {
      action: "workItem.finish",
      subjectType: "workItem",
      subjectId: id,
      payload: { meterId, testId },
    });
    if (!(await finishWork(tx, id, meterId, testId, entryId))) {
      if ((await findWorkItem(tx, id)) === null) throw unknownWork(workItemIds.indexOf(id));
      throw new ProblemError(
        "wrong-state",
        "This work was answered by another test or closed meanwhile; take it off and save again.",
        {
          errors: [{ pointer: "/workItemIds", detail: "This holds work that is no longer open." }],
        },
      );
    }
  }
}

function unknownWork(place: number): ProblemError {
  return new ProblemError("not-found", "This work is not on record; take it off and save again.", {
    errors: [{ pointer: `/workItemIds/${place}`, detail: "There is no such work." }],
  });
}

/**
 * Opens work again that an amended or withdrawn test no longer answers. Where nobody waits for it any more, because its
 * draw was repeated, its lot is decided or the same was asked for meanwhile, it is closed instead, with the reason.
 */
export async function reopenWorkItems(
  tx: Tx,
  workItemIds: readonly string[],
  why: { testId: string; reason: string },
): Promise<void> {
  if (workItemIds.length === 0) return;
  const asked = await findAskedStill(tx, workItemIds);
  const still = workItemIds.filter((id) => asked.has(id));
  const over = workItemIds.filter((id) => !asked.has(id));
  const entryIds = await writeEntries(
    tx,
    still.map((id) => ({
      action: "workItem.open" as const,
      subjectType: "workItem",
      subjectId: id,
      reason: why.reason,
      payload: { again: true, amendedByTestId: why.testId },
    })),
  );
  await reopenWork(tx, still, null, entryIds);
  const closed = `Its test was amended (${why.reason}), and nobody waits for another: its draw was repeated, its lot is decided, or the same was asked for meanwhile.`;
  const closingIds = await writeEntries(
    tx,
    over.map((id) => ({
      action: "workItem.close" as const,
      subjectType: "workItem",
      subjectId: id,
      reason: closed,
      payload: { amendedByTestId: why.testId },
    })),
  );
  await reopenWork(tx, over, closed, closingIds);
}
