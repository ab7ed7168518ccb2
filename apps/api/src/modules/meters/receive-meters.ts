import type { LineProblem, LinesPreview, MeterMove } from "@sealbook/contract/meter-events";
import type { MeterType } from "@sealbook/contract/meter-types";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { shopToday } from "../../platform/shop-today.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { lookAgainAtMeters } from "../inventory-flags/inventory-flags.ts";
import { meterTypeById } from "../meter-types/meter-types.ts";
import { lockPlace, placeById } from "../places/places.ts";
import { findTakenNumbers, insertMeterEvents, insertMove } from "./event-store.ts";
import { moveOnRecord, performedAtOf, refuseUnlessAsPreviewed } from "./move-meters.ts";
import { placeSentence } from "./plan-rows.ts";
import { insertMeters } from "./store.ts";

interface ReceiptLine {
  serial: string;
  utilityNumber: string;
}

export interface ReceiptRequest {
  typeId: string;
  owner: "utility" | "customer";
  placeId: string;
  purchasedOn: string | null;
  performedAt: string | null;
  firmware: string;
  program: string;
  reason: string;
  lines: readonly ReceiptLine[];
}

/** Looks what receiving a list would come to. */
export async function checkMeterReceipt(source: Source, request: ReceiptRequest): Promise<LinesPreview> {
  const { type } = await readReceipt(source, request, await placeById(source, request.placeId));
  const { ready, problems, notes } = await planReceipt(source, type, request.lines);
  return { ready: ready.length, problems, notes };
}

/** Receives a list of meters: all of it or, as chosen, its good lines, in one transaction under one ledger entry. */
export async function receiveMeters(
  tx: Tx,
  request: ReceiptRequest & { id: string; onlyGood: boolean; expected: number },
): Promise<{ move: MeterMove; leftOut: LineProblem[] }> {
  const { type, performedAt } = await readReceipt(tx, request, await lockPlace(tx, request.placeId));
  await refuseElsewhere(tx, { meterIds: [], placeIds: [request.placeId] });
  const planned = await planReceipt(tx, type, request.lines);
  refuseUnlessAsPreviewed(planned, request);
  const rows = planned.ready.map((line) => ({ ...line, meterId: newId(), eventId: newId() }));
  const { typeId, owner, placeId, purchasedOn, firmware, program } = request;
  const reason = request.reason.trim();
  const entryId = await writeEntry(tx, {
    action: "meter.receive",
    subjectType: "meterMove",
    subjectId: request.id,
    payload: {
      ...{ typeId, maker: type.maker, owner, placeId, purchasedOn, firmware, program, reason },
      performedAt: performedAt.toISOString(),
      rows: rows.map(({ meterId, eventId, serial, utilityNumber }) => ({
        ...{ meterId, eventId, serial, utilityNumber },
      })),
    },
  });
  const entryIds = rows.map(() => entryId);
  try {
    await insertMeters(
      tx,
      rows.map(({ meterId, serial, utilityNumber }) => ({
        ...{ id: meterId, utilityNumber, serial, owner, typeId, firmware, program, purchasedOn, placeId },
        maker: type.maker,
        state: "received" as const,
      })),
      entryIds,
    );
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("wrong-state", "Somebody took one of these numbers just now; look again.");
  }
  const move = { id: request.id, kind: "receive" as const, performedAt, placeId, reason };
  await insertMove(tx, { ...move, meters: rows.length, takesBackId: null }, entryId);
  await insertMeterEvents(
    tx,
    rows.map(({ meterId, eventId }) => ({
      ...{ id: eventId, meterId, kind: "receive", performedAt, placeId, registerReading: null, reason },
    })),
    entryIds,
    request.id,
  );
  await lookAgainAtMeters(
    tx,
    rows.map(({ meterId }) => meterId),
  );
  return { move: await moveOnRecord(tx, request.id), leftOut: planned.problems };
}

async function readReceipt(
  source: Source,
  request: ReceiptRequest,
  place: Parameters<typeof placeSentence>[1],
): Promise<{ type: MeterType; performedAt: Date }> {
  const type = await meterTypeById(source, request.typeId);
  if (type === null) throw refusedByRule("/typeId", "There is no such meter type; choose one from the list.");
  if (type.retired)
    throw refusedByRule(
      "/typeId",
      `${type.maker} ${type.model} is retired: no new meters of it are taken in.`,
    );
  const sentence = placeSentence("receive", place, true);
  if (sentence !== null) throw refusedByRule("/placeId", sentence);
  if (request.purchasedOn !== null && request.purchasedOn > (await shopToday(source)))
    throw refusedByRule("/purchasedOn", "This lies in the future; correct the date.");
  return { type, performedAt: await performedAtOf(source, request.performedAt) };
}

async function planReceipt(
  source: Source,
  type: MeterType,
  lines: readonly ReceiptLine[],
): Promise<{ ready: ReceiptLine[]; problems: LineProblem[]; notes: LinesPreview["notes"] }> {
  const taken = await findTakenNumbers(
    source,
    type.maker,
    lines.map(({ serial }) => serial),
    lines.map(({ utilityNumber }) => utilityNumber),
  );
  const of = (kind: (typeof taken)[number]["kind"]) =>
    groupedBy(
      taken.filter((one) => one.kind === kind),
      ({ value }) => value,
    );
  const [onRecord, otherMakers, numbersInUse] = [of("serial"), of("other-maker"), of("number")];
  const serialLine = new Map<string, number>();
  const numberLine = new Map<string, number>();
  const ready: ReceiptLine[] = [];
  const problems: LineProblem[] = [];
  const notes: LinesPreview["notes"] = [];
  for (const [index, row] of lines.entries()) {
    const line = index + 1;
    const { serial, utilityNumber } = row;
    const refuse = (code: LineProblem["code"], detail: string) => {
      problems.push({ line, number: serial, code, detail });
    };
    const [before, numberBefore] = [serialLine.get(serial), numberLine.get(utilityNumber)];
    const known = onRecord.get(serial)?.[0];
    if (before !== undefined) {
      refuse("twice", `Serial ${serial} stands on line ${before} already.`);
      continue;
    }
    serialLine.set(serial, line);
    if (known !== undefined) {
      refuse("on-record", `${type.maker} serial ${serial} is on record as meter ${known.utilityNumber}.`);
      continue;
    }
    if (numberBefore !== undefined) {
      refuse("twice", `Utility number ${utilityNumber} stands on line ${numberBefore} already.`);
      continue;
    }
    numberLine.set(utilityNumber, line);
    if (numbersInUse.has(utilityNumber)) {
      refuse("number-taken", `Utility number ${utilityNumber} belongs to a meter in use.`);
      continue;
    }
    const other = otherMakers.get(serial)?.[0];
    if (other !== undefined)
      notes.push({
        line,
        number: serial,
        detail: `${other.maker} has a meter of serial ${serial}, too: ${other.utilityNumber}. It goes in, and stands among what to settle.`,
      });
    ready.push(row);
  }
  return { ready, problems, notes };
}
