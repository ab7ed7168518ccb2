import type { DrawUnit, UnitState } from "@sealbook/contract/follow-up";
import type { LotKind } from "@sealbook/contract/lot-terms";
import { untestableReasonNames } from "@sealbook/contract/meter-tests";
import { wholeMonthsBetween } from "@sealbook/metrology/calendar/whole-months-between";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import type { SampledPlace } from "@sealbook/metrology/sampling/decision/sampled-place";
import {
  type AbsenceReason,
  absenceReasonNames,
  type SamplingScheme,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { localDate } from "../../platform/local-date.ts";
import { personRef } from "../../platform/person-ref.ts";
import type { Source } from "../../platform/transaction.ts";
import { reasonOfKind } from "./reason-of-kind.ts";
import {
  findDrawEvents,
  findTestsBefore,
  findUnits,
  findUnitTests,
  type UnitEventRow,
  type UnitTestRow,
} from "./unit-store.ts";

/** The sample of a lot as it stands: its meters, what each place says, and the tests that a decision would rest on. */
export interface Sample {
  units: DrawUnit[];
  /** Places 1 to n with what became of the meter that fills each. */
  places: SampledPlace[];
  tests: { testId: string; meterId: string; place: number; counted: boolean }[];
}

/**
 * Reads the sample of a draw. A meter that cannot be had leaves its place to the spare that was called up for it; the test
 * that counts is the first as-found test after the draw with the lot's reason that has not been superseded.
 */
export async function sampleOf(
  source: Source,
  lot: { kind: LotKind; n: number; scheme: Pick<SamplingScheme, "untestable"> },
  draw: { id: string; drawnAt: string },
  today: string,
  timeZone: string,
): Promise<Sample> {
  const reason = reasonOfKind[lot.kind];
  const rows = await findUnits(source, draw.id);
  const events = groupedBy(await findDrawEvents(source, draw.id), ({ position }) => position);
  const tests = groupedBy(await findUnitTests(source, draw, reason), ({ meter_id }) => meter_id);
  const before = new Map(
    (await findTestsBefore(source, draw)).map((row) => [row.meter_id, row.performed_at]),
  );
  // What was taken back is shown and counts for nothing.
  const standing = new Map(
    [...events].map(([position, list]) => [position, list.filter((event) => event.taken_back_at === null)]),
  );
  const calledUpFor = new Map<number, { position: number; at: number }[]>();
  for (const list of standing.values()) {
    for (const event of list) {
      if (event.kind === "called-up" && event.place !== null)
        calledUpFor.set(event.place, [
          ...(calledUpFor.get(event.place) ?? []),
          { position: event.position, at: event.ordinal },
        ]);
    }
  }
  const placeOf = (position: number, spare: boolean): number | null =>
    spare ? (standing.get(position)?.find(({ kind }) => kind === "called-up")?.place ?? null) : position;
  const occupantOf = (place: number): number =>
    calledUpFor.get(place)?.reduce((last, one) => (one.at > last.at ? one : last)).position ?? place;

  const units = rows.map((row): DrawUnit => {
    const own = events.get(row.position) ?? [];
    const place = placeOf(row.position, row.spare);
    const [counted, ...further] = tests.get(row.meter_id) ?? [];
    const lastBefore = before.get(row.meter_id);
    const until = counted === undefined ? today : localDate(counted.performed_at, timeZone);
    return {
      position: row.position,
      place,
      spare: row.spare,
      meterId: row.meter_id,
      utilityNumber: row.utility_number,
      serial: row.serial,
      servicePoint: row.service_point,
      area: row.area,
      address: row.address,
      state: stateOf(
        standing.get(row.position) ?? [],
        place,
        place === null ? null : occupantOf(place),
        row.position,
        counted,
      ),
      events: own.map((event) => ({
        id: event.id,
        kind: event.kind,
        reason: event.reason as AbsenceReason | null,
        note: event.note,
        at: event.recorded_at.toISOString(),
        by: personRef(event.actor_id, event.actor_name),
        takenBack:
          event.taken_back_at === null
            ? null
            : {
                reason: event.taken_back_reason ?? "",
                at: event.taken_back_at.toISOString(),
                by: personRef(event.taken_back_by, event.taken_back_name),
              },
      })),
      test:
        counted === undefined
          ? null
          : {
              id: counted.id,
              performedAt: counted.performed_at.toISOString(),
              verdict: counted.verdict,
              fullLoad: counted.full_load,
              lightLoad: counted.light_load,
              powerFactor: counted.power_factor,
              average: counted.average,
              tester: personRef(counted.tester_id, counted.tester_name),
            },
      furtherTests: further.map(({ id, performed_at }) => ({ id, performedAt: performed_at.toISOString() })),
      monthsSinceLastTest:
        lastBefore === undefined ? null : monthsBetween(localDate(lastBefore, timeZone), until),
      workItemId: row.work_item_id,
    };
  });

  const byPosition = new Map(units.map((unit) => [unit.position, unit]));
  const places = Array.from({ length: lot.n }, (_, index): SampledPlace => {
    const place = index + 1;
    const unit = byPosition.get(occupantOf(place));
    if (unit === undefined) throw new Error(`place ${place} has no meter`);
    const [counted] = tests.get(unit.meterId) ?? [];
    return { place, meter: unit.utilityNumber, outcome: outcomeOf(unit, counted, lot.scheme) };
  });
  return {
    units,
    places,
    tests: units.flatMap(({ place, state, meterId, test, furtherTests }) =>
      place === null || test === null
        ? []
        : [
            {
              testId: test.id,
              meterId,
              place,
              counted: state === "tested" || state === "no-test-possible",
            },
            ...furtherTests.map(({ id }) => ({ testId: id, meterId, place, counted: false })),
          ],
    ),
  };
}

const leaves: readonly UnitEventRow["kind"][] = ["not-reached", "moved", "retired", "left-out"];

function stateOf(
  events: readonly UnitEventRow[],
  place: number | null,
  occupant: number | null,
  position: number,
  counted: UnitTestRow | undefined,
): UnitState {
  if (place === null) return "spare";
  if (events.some(({ kind }) => leaves.includes(kind)))
    return occupant === position ? "left-out" : "replaced";
  if (counted !== undefined) return counted.outcome === "tested" ? "tested" : "no-test-possible";
  const last = events.findLast(({ kind }) => ["asked", "pulled", "received"].includes(kind))?.kind;
  return last === "asked" || last === "pulled" || last === "received" ? last : "waiting";
}

function outcomeOf(
  unit: DrawUnit,
  counted: UnitTestRow | undefined,
  scheme: Pick<SamplingScheme, "untestable">,
): SampledPlace["outcome"] {
  if (unit.state === "left-out") {
    const reason =
      unit.events.findLast((event) => event.reason !== null && event.takenBack === null)?.reason ?? "other";
    return { kind: "left-out", reason: absenceReasonNames[reason] };
  }
  if (counted === undefined) return { kind: "waiting" };
  if (counted.verdict === "no-test-possible") {
    return {
      kind: "untestable",
      reason: `${untestableWords(counted.untestable_reason)}: ${scheme.untestable.reason}`,
    };
  }
  return {
    kind: "tested",
    verdict: counted.verdict,
    readings: {
      ...(counted.full_load === null ? {} : { "full-load": counted.full_load }),
      ...(counted.light_load === null ? {} : { "light-load": counted.light_load }),
      ...(counted.power_factor === null ? {} : { "power-factor": counted.power_factor }),
    },
    average: counted.average,
  };
}

/** Why no test was possible, in the words of the screens; records of before may carry none. */
function untestableWords(reason: string | null): string {
  const known = Object.entries(untestableReasonNames).find(([code]) => code === reason);
  return known?.[1] ?? "No test possible";
}

function monthsBetween(from: string, to: string): number {
  return to < from ? 0 : wholeMonthsBetween(from, to);
}
