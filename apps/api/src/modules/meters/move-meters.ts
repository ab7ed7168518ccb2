import type { LineProblem, LinesPreview, MeterMove, TrayKind } from "@sealbook/contract/meter-events";
import type { MeterState } from "@sealbook/contract/meters";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import { isDoneWith, type LifeEventKind } from "@sealbook/metrology/life-cycle/legal-moves";
import type { ReadingNote } from "@sealbook/metrology/life-cycle/reading-question";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { localMinute } from "../../platform/local-date.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { refuseElsewhere } from "../../platform/refuse-elsewhere.ts";
import { shopCalendar } from "../../platform/shop-calendar.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { lockPlace, placeById } from "../places/places.ts";
import {
  findMeterAtPoint,
  findMetersByNumbers,
  findMetersToMove,
  findMove,
  findMovedMeters,
  findMoves,
  insertMeterEvents,
  insertMove,
  insertSealChanges,
  lockMeters,
  type MeterToMove,
  type MovedMeter,
  updateWhereabouts,
} from "./event-store.ts";
import { type PlannedMove, placeSentence, planRow } from "./plan-rows.ts";

/** A move may be dated so many milliseconds ahead of the database's clock, since clocks differ. */
const clockTolerance = 60_000;

interface MoveRequest {
  kind: LifeEventKind;
  performedAt: string | null;
  placeId: string | null;
  reason: string;
}

interface Line {
  number: string;
  registerReading: string | null;
  readingNote: ReadingNote | null;
}

type TrayRequest = MoveRequest & { kind: TrayKind; lines: readonly Line[] };

/** A line that can be done. */
interface ReadyLine {
  meter: MeterToMove;
  eventId: string;
  line: Line;
  state: MeterState;
  placeId: string;
}

/** Looks what moving a tray would come to. */
export async function checkMeterMove(source: Source, request: TrayRequest): Promise<LinesPreview> {
  const { timeZone } = await shopCalendar(source);
  const move = await readMove(
    source,
    request,
    request.placeId === null ? null : await placeById(source, request.placeId),
  );
  const { meant, problems } = meantBy(
    request.lines,
    request.kind,
    await findMetersByNumbers(source, numbersOf(request)),
  );
  const meters = await findMetersToMove(source, [...meant.values()]);
  const { ready, problems: all } = planLines(request.lines, meant, problems, meters, move, timeZone);
  return { ready: ready.length, problems: all, notes: [] };
}

/** Moves a tray: all of it or, as chosen, its good lines, in one transaction under one ledger entry. */
export async function moveMeterTray(
  tx: Tx,
  request: TrayRequest & { id: string; onlyGood: boolean; expected: number },
): Promise<{ move: MeterMove; leftOut: LineProblem[] }> {
  const place = request.placeId === null ? null : await lockPlace(tx, request.placeId);
  const move = await readMove(tx, request, place);
  const { meant, problems } = meantBy(
    request.lines,
    request.kind,
    await findMetersByNumbers(tx, numbersOf(request)),
  );
  const ids = [...meant.values()];
  await lockMeters(tx, ids);
  await refuseElsewhere(tx, { meterIds: ids, placeIds: [request.placeId] });
  const meters = await findMetersToMove(tx, ids);
  const { timeZone } = await shopCalendar(tx);
  const planned = planLines(request.lines, meant, problems, meters, move, timeZone);
  refuseUnlessAsPreviewed(planned, request);
  await keepMove(tx, request.id, move, planned.ready);
  return { move: await moveOnRecord(tx, request.id), leftOut: planned.problems };
}

/** What was confirmed is what was previewed: other lines, or problems that nobody agreed to leave out, stop it. */
export function refuseUnlessAsPreviewed(
  planned: { ready: readonly unknown[]; problems: readonly LineProblem[] },
  request: { onlyGood: boolean; expected: number },
): void {
  if (planned.problems.length > 0 && !request.onlyGood) {
    throw new ProblemError(
      "refused-by-rule",
      `${planned.problems.length} of the lines cannot be done; mend or leave them out.`,
      {
        errors: planned.problems
          .slice(0, 100)
          .map(({ line, detail }) => ({ pointer: `/lines/${line - 1}`, detail })),
      },
    );
  }
  if (planned.ready.length !== request.expected) {
    throw new ProblemError(
      "wrong-state",
      `The list has changed since you looked: ${planned.ready.length} lines can be done now, ${request.expected} could then. Look again.`,
    );
  }
}

/** Records what happened to one meter. */
export async function recordMeterEvent(
  tx: Tx,
  meterId: string,
  request: MoveRequest & {
    id: string;
    registerReading: string | null;
    readingNote: ReadingNote | null;
    sealsOn: readonly string[];
    sealsOff: readonly string[];
  },
): Promise<void> {
  const place =
    request.placeId === null
      ? null
      : await lockPlace(tx, request.placeId, request.kind === "set" ? "alone" : "shared");
  const move = await readMove(tx, request, place);
  await lockMeters(tx, [meterId]);
  await refuseElsewhere(tx, { meterIds: [meterId], placeIds: [request.placeId] });
  const meter = (await findMetersToMove(tx, [meterId])).get(meterId);
  if (meter === undefined) throw notFound("meter");
  if (request.kind === "seal" && request.sealsOn.length + request.sealsOff.length === 0)
    throw refusedByRule("/sealsOn", "Name the seals that were put on or taken off.");
  refuseRepeated(request.sealsOn, "/sealsOn");
  refuseRepeated(request.sealsOff, "/sealsOff");
  const { timeZone } = await shopCalendar(tx);
  const row = {
    eventId: newId(),
    registerReading: request.registerReading,
    readingNote: request.readingNote,
  };
  const planned = planRow(meter, move, row, timeZone);
  if (planned.kind === "problem") throw refusalOf(planned);
  if (request.kind === "set" && request.placeId !== null)
    await refuseOccupied(tx, request.placeId, move, meterId, timeZone);
  await keepMove(
    tx,
    request.id,
    move,
    [
      {
        meter,
        eventId: row.eventId,
        line: { number: meter.utilityNumber, ...request },
        state: planned.state,
        placeId: planned.placeId,
      },
    ],
    request,
  );
}

/** A line's problem as the refusal of one event. */
export function refusalOf(problem: { code: LineProblem["code"]; detail: string }): ProblemError {
  const { code, detail } = problem;
  if (code === "held") return new ProblemError("meter-held", detail, { errors: [{ pointer: "", detail }] });
  if (code === "illegal" || code === "breaks")
    return new ProblemError("illegal-move", detail, { errors: [{ pointer: "/kind", detail }] });
  const pointer = code === "reading" ? "/registerReading" : code === "already-here" ? "/placeId" : "";
  return refusedByRule(pointer, detail);
}

function refuseRepeated(numbers: readonly string[], pointer: string): void {
  const index = numbers.findIndex((number, place) => numbers.indexOf(number) < place);
  if (index >= 0) throw refusedByRule(`${pointer}/${index}`, `Seal ${numbers[index]} stands twice.`);
}

async function refuseOccupied(
  tx: Tx,
  placeId: string,
  move: PlannedMove,
  meterId: string,
  timeZone: string,
): Promise<void> {
  const other = await findMeterAtPoint(tx, placeId, move.performedAt, meterId);
  if (other === null) return;
  throw refusedByRule(
    "/placeId",
    `This service point has meter ${other.utilityNumber}, set on ${localMinute(other.since, timeZone)}; record its removal first.`,
  );
}

// ---------------------------------------------------------------------------------------------------------------
// Parts of a move

async function readMove(
  source: Source,
  request: MoveRequest,
  place: Parameters<typeof placeSentence>[1],
): Promise<PlannedMove> {
  const sentence = placeSentence(request.kind, place, request.placeId !== null);
  if (sentence !== null) throw refusedByRule("/placeId", sentence);
  const performedAt = await performedAtOf(source, request.performedAt);
  const needsReason = request.kind === "retire" || request.kind === "dispose";
  if (needsReason && request.reason.trim().length < 5)
    throw refusedByRule("/reason", "Say in a few words why.");
  return { kind: request.kind, performedAt, placeId: request.placeId, reason: request.reason.trim() };
}

/** The moment that was typed, or now by the database's clock; refused in the future. */
export async function performedAtOf(source: Source, typed: string | null): Promise<Date> {
  const now = await databaseTime(source);
  if (typed === null) return now;
  const at = new Date(typed);
  if (at.getTime() > now.getTime() + clockTolerance)
    throw refusedByRule("/performedAt", "This lies in the future; correct the date or the time.");
  return at;
}

function numbersOf({ lines }: { lines: readonly Line[] }): string[] {
  return [...new Set(lines.map(({ number }) => number))];
}

/**
 * Which meter each number means. A utility number goes before a serial, one in use before one that is done with; where
 * several are left, the line is ambiguous. To dispose of, a retired meter is meant.
 */
function meantBy(
  lines: readonly Line[],
  kind: TrayKind,
  found: readonly { number: string; id: string; by: "number" | "serial"; state: MeterState }[],
): { meant: Map<string, string>; problems: Map<string, { code: LineProblem["code"]; detail: string }> } {
  const meant = new Map<string, string>();
  const problems = new Map<string, { code: LineProblem["code"]; detail: string }>();
  const candidates = groupedBy(found, ({ number }) => number);
  for (const { number } of lines) {
    if (meant.has(number) || problems.has(number)) continue;
    const all = candidates.get(number) ?? [];
    const byNumber = all.filter(({ by }) => by === "number");
    const bySerial = all.filter(({ by }) => by === "serial");
    const retired = byNumber.filter(({ state }) => state === "retired");
    const inUse = byNumber.filter(({ state }) => !isDoneWith(state));
    const choices = [...(kind === "dispose" ? [retired] : []), inUse, bySerial, byNumber];
    const [one, another] = choices.find((choice) => choice.length > 0) ?? [];
    if (one === undefined)
      problems.set(number, {
        code: "unknown",
        detail: `No meter on record has utility number or serial ${number}.`,
      });
    else if (another !== undefined && another.id !== one.id)
      problems.set(number, {
        code: "ambiguous",
        detail: `Several meters have ${one.by === "serial" ? "serial" : "had utility number"} ${number}: use ${one.by === "serial" ? "the utility number" : "the serial"}.`,
      });
    else meant.set(number, one.id);
  }
  return { meant, problems };
}

function planLines(
  lines: readonly Line[],
  meant: ReadonlyMap<string, string>,
  unmeant: ReadonlyMap<string, { code: LineProblem["code"]; detail: string }>,
  meters: ReadonlyMap<string, MeterToMove>,
  move: PlannedMove,
  timeZone: string,
): { ready: ReadyLine[]; problems: LineProblem[] } {
  const ready: ReadyLine[] = [];
  const problems: LineProblem[] = [];
  const firstLine = new Map<string, { line: number; number: string }>();
  for (const [index, line] of lines.entries()) {
    const { number } = line;
    const refuse = ({ code, detail }: { code: LineProblem["code"]; detail: string }) => {
      problems.push({ line: index + 1, number, code, detail });
    };
    const unclear = unmeant.get(number);
    if (unclear !== undefined) {
      refuse(unclear);
      continue;
    }
    const meter = meters.get(meant.get(number) ?? "");
    if (meter === undefined) throw new Error("a meter that was found is on record");
    const first = firstLine.get(meter.id);
    if (first !== undefined) {
      const as = first.number === number ? "" : ` as ${first.number}`;
      refuse({ code: "twice", detail: `${number} stands on line ${first.line} already${as}.` });
      continue;
    }
    firstLine.set(meter.id, { line: index + 1, number });
    const eventId = newId();
    const planned = planRow(meter, move, { eventId, ...line }, timeZone);
    if (planned.kind === "problem") {
      refuse(planned);
      continue;
    }
    ready.push({ meter, eventId, line, state: planned.state, placeId: planned.placeId });
  }
  return { ready, problems };
}

/** Writes a move: its header, an event a meter, and where the meters are now, all under one entry. */
async function keepMove(
  tx: Tx,
  id: string,
  move: PlannedMove,
  ready: readonly ReadyLine[],
  seals: { sealsOn: readonly string[]; sealsOff: readonly string[] } = { sealsOn: [], sealsOff: [] },
): Promise<void> {
  const [only] = ready;
  const entryId = await writeEntry(tx, {
    action: "meter.move",
    ...(ready.length === 1 && only !== undefined
      ? { subjectType: "meter", subjectId: only.meter.id }
      : { subjectType: "meterMove", subjectId: id }),
    payload: {
      moveId: id,
      kind: move.kind,
      performedAt: move.performedAt.toISOString(),
      placeId: move.placeId,
      reason: move.reason,
      ...(seals.sealsOn.length > 0 ? { sealsOn: [...seals.sealsOn] } : {}),
      ...(seals.sealsOff.length > 0 ? { sealsOff: [...seals.sealsOff] } : {}),
      rows: ready.map(({ meter, eventId, line, state, placeId }) => ({
        eventId,
        meterId: meter.id,
        state,
        ...(placeId === move.placeId ? {} : { placeId }),
        ...(line.registerReading === null ? {} : { registerReading: line.registerReading }),
        ...(line.readingNote === null ? {} : { readingNote: line.readingNote }),
      })),
    },
  });
  await insertMove(tx, { id, ...move, meters: ready.length, takesBackId: null }, entryId);
  const entryIds = ready.map(() => entryId);
  await insertMeterEvents(
    tx,
    ready.map(({ meter, eventId, line }) => ({
      id: eventId,
      meterId: meter.id,
      kind: move.kind,
      performedAt: move.performedAt,
      placeId: move.placeId,
      registerReading: line.registerReading,
      readingNote: line.readingNote,
      reason: move.reason,
    })),
    entryIds,
    id,
  );
  await insertSealChanges(
    tx,
    ready.flatMap(({ eventId }) => [
      ...seals.sealsOff.map((number) => ({ eventId, change: "off" as const, number })),
      ...seals.sealsOn.map((number) => ({ eventId, change: "on" as const, number })),
    ]),
    entryId,
  );
  await updateWhereabouts(
    tx,
    ready.map(({ meter, state, placeId }) => ({ meterId: meter.id, state, placeId })),
    entryIds,
  );
}

/** A move that was just written. */
export async function moveOnRecord(source: Source, id: string): Promise<MeterMove> {
  const move = await findMove(source, id);
  if (move === null) throw notFound("move");
  return move;
}

// ---------------------------------------------------------------------------------------------------------------
// Looking

export async function listMeterMoves(
  source: Source,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: MeterMove[]; next: string | null }> {
  const after =
    query.cursor === undefined ? null : (fromCursor(query.cursor, 2).map(String) as [string, string]);
  const rows = await findMoves(source, { after, limit: query.limit + 1 });
  return toPage(rows, query.limit, (row) => [row.recordedAt, row.id]);
}

export async function getMeterMove(source: Source, id: string): Promise<MeterMove> {
  return await moveOnRecord(source, id);
}

export async function listMovedMeters(
  source: Source,
  id: string,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: MovedMeter[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const rows = await findMovedMeters(source, id, { after, limit: query.limit + 1 });
  return toPage(rows, query.limit, (row) => [row.eventId]);
}
