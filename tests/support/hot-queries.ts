import { dueCalendar, listDue } from "@sealbook/api/modules/due/due";
import { listInventoryFlags } from "@sealbook/api/modules/inventory-flags/inventory-flags";
import { countMeters, findMeter, listMeters } from "@sealbook/api/modules/meter-list/meter-list";
import { meterOnRecord } from "@sealbook/api/modules/meters/meters";
import { checkMeterMove, listMeterMoves } from "@sealbook/api/modules/meters/move-meters";
import { checkMeterReceipt } from "@sealbook/api/modules/meters/receive-meters";
import { getMeterStory } from "@sealbook/api/modules/meters/story";
import { listMetersInPlace, listPlaces } from "@sealbook/api/modules/places/places";
import { searchBook } from "@sealbook/api/modules/search/search";
import type { Source } from "@sealbook/api/platform/transaction";

/** Facts of an inventory that hot queries ask for. */
export interface HotFacts {
  readonly meterId: string;
  readonly utilityNumber: string;
  readonly serial: string;
  readonly servicePointNumber: string;
  /** An address that one service point or a few have. */
  readonly address: string;
  readonly typeId: string;
  readonly maker: string;
  readonly form: string;
  readonly storeId: string;
  readonly area: string;
  /** A month in which something is due, such as 2026-11. */
  readonly month: string;
}

/** What people ask all day long, each through the use case that serves it: read by the test of plans and by measurements. */
export const hotQueries: readonly {
  readonly name: string;
  run(source: Source, facts: HotFacts): Promise<unknown>;
}[] = [
  { name: "scan of a utility number", run: (source, { utilityNumber }) => findMeter(source, utilityNumber) },
  { name: "scan of a serial", run: (source, { serial }) => findMeter(source, serial) },
  { name: "search of one character", run: (source, { serial }) => searchBook(source, serial.slice(0, 1)) },
  {
    name: "search of a number's beginning",
    run: (source, { utilityNumber }) => searchBook(source, utilityNumber.slice(0, 6)),
  },
  {
    name: "search of a serial's middle",
    run: (source, { serial }) => searchBook(source, serial.slice(2, 8)),
  },
  {
    name: "search of a service point's end",
    run: (source, { servicePointNumber }) => searchBook(source, servicePointNumber.slice(-6)),
  },
  { name: "search of an address", run: (source, { address }) => searchBook(source, address) },
  { name: "search of what there is not", run: (source) => searchBook(source, "no such thing 4711") },
  { name: "meters by number", run: (source) => listMeters(source, { order: "number", limit: 50 }) },
  {
    name: "meters of a state",
    run: (source) => listMeters(source, { order: "number", limit: 50, state: "in-shop" }),
  },
  {
    name: "meters of a type",
    run: (source, { typeId }) => listMeters(source, { order: "number", limit: 50, typeId }),
  },
  {
    name: "meters of a form",
    run: (source, { form }) => listMeters(source, { order: "number", limit: 50, form }),
  },
  {
    name: "meters at a place",
    run: (source, { storeId }) => listMeters(source, { order: "number", limit: 50, placeId: storeId }),
  },
  {
    name: "meters by a part of a serial",
    run: (source, { serial }) => listMeters(source, { order: "number", limit: 50, q: serial.slice(2) }),
  },
  {
    name: "meters by one character",
    run: (source) => listMeters(source, { order: "number", limit: 50, q: "0" }),
  },
  { name: "meters by last test", run: (source) => listMeters(source, { order: "last-test", limit: 50 }) },
  {
    name: "meters by last test, newest first",
    run: (source) => listMeters(source, { order: "last-test-newest", limit: 50 }),
  },
  { name: "meters by due date", run: (source) => listMeters(source, { order: "due", limit: 50 }) },
  { name: "late meters", run: (source) => listMeters(source, { order: "due", limit: 50, due: "late" }) },
  {
    name: "meters that failed",
    run: (source) => listMeters(source, { order: "number", limit: 50, lastVerdict: "fail" }),
  },
  {
    name: "meters of a maker that failed in a year",
    run: (source, { maker }) =>
      listMeters(source, {
        order: "last-test",
        limit: 50,
        maker,
        lastVerdict: "fail",
        testedFrom: "2020-01-01",
        testedTo: "2020-12-31",
      }),
  },
  {
    name: "meters set in a year in a state",
    run: (source) => listMeters(source, { order: "number", limit: 50, setYear: 2015, state: "in-service" }),
  },
  { name: "count of a state", run: (source) => countMeters(source, { state: "in-shop" }) },
  {
    name: "count of a part of a serial",
    run: (source, { serial }) => countMeters(source, { q: serial.slice(2) }),
  },
  { name: "a meter's page", run: (source, { meterId }) => meterOnRecord(source, meterId) },
  { name: "a meter's story", run: (source, { meterId }) => getMeterStory(source, meterId, { limit: 50 }) },
  {
    name: "what there is to settle of a meter",
    run: (source, { meterId }) => listInventoryFlags(source, { meterId, state: "open", limit: 20 }),
  },
  {
    name: "look through a tray",
    run: (source, { utilityNumber, serial, storeId }) =>
      checkMeterMove(source, {
        ...{ kind: "return", performedAt: null, placeId: storeId, reason: "" },
        lines: [utilityNumber, serial].map((number) => ({
          number,
          registerReading: null,
          readingNote: null,
        })),
      }),
  },
  {
    name: "look through a receipt",
    run: (source, { utilityNumber, serial, storeId, typeId }) =>
      checkMeterReceipt(source, {
        ...{ typeId, owner: "utility", placeId: storeId, purchasedOn: null, performedAt: null },
        ...{ firmware: "", program: "", reason: "", lines: [{ serial, utilityNumber }] },
      }),
  },
  { name: "moves, newest first", run: (source) => listMeterMoves(source, { limit: 50 }) },
  { name: "places", run: (source) => listPlaces(source, { limit: 200, closed: "no" }) },
  {
    name: "meters in a place",
    run: (source, { storeId }) => listMetersInPlace(source, storeId, { limit: 50 }),
  },
  { name: "due work", run: (source) => listDue(source, { limit: 50 }) },
  { name: "due work of an area", run: (source, { area }) => listDue(source, { limit: 50, area }) },
  { name: "calendar of due work", run: (source, { month }) => dueCalendar(source, { month }) },
];
