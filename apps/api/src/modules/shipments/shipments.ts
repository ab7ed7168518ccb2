import type { DrawUnit } from "@sealbook/contract/follow-up";
import { meterStateNames } from "@sealbook/contract/meters";
import type { Lot } from "@sealbook/contract/sampling";
import type { shipmentRefusals } from "@sealbook/contract/shipments";
import { groupedBy } from "@sealbook/metrology/grouped-by";
import { isDoneWith } from "@sealbook/metrology/life-cycle/legal-moves";
import { lotSeries } from "@sealbook/metrology/sampling/decision/lot-series";
import { databaseTime } from "../../platform/database-time.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { newId, type Source, type Tx } from "../../platform/transaction.ts";
import { meterTypeById } from "../meter-types/meter-types.ts";
import { addMeters, moveMeters } from "../meters/meters.ts";
import { lockPlace } from "../places/places.ts";
import {
  addMembers,
  dispose,
  getLot,
  listDrawUnits,
  lockLotIn,
  openLot,
  schemeById,
} from "../sampling/sampling.ts";
import {
  type CandidateMeter,
  findMended,
  findReceivedOn,
  findReceivingPlace,
  insertMakerResults,
  lockMembers,
  lockMetersByNumbers,
  lockMetersOfMaker,
} from "./store.ts";

/** Opens a shipment lot; maker, type and contract make the series that switching follows. */
export async function createShipment(
  tx: Tx,
  shipment: {
    id: string;
    number: string;
    schemeId: string;
    typeId: string;
    contract: string;
    purchaseOrder: string;
    receivedOn: string;
    note: string;
  },
): Promise<Lot> {
  const type = await meterTypeById(tx, shipment.typeId);
  if (type === null) throw refusedByRule("/typeId", "There is no such meter type; choose one from the list.");
  const scheme = await schemeById(tx, shipment.schemeId);
  if (scheme === null) throw refusedByRule("/schemeId", "There is no such scheme; choose one from the list.");
  if (scheme.body.purpose !== "shipment") {
    throw refusedByRule("/schemeId", `${scheme.code} is for groups in service; choose one for shipments.`);
  }
  if (!scheme.current) throw refusedByRule("/schemeId", `${scheme.code} has a newer revision; use that one.`);
  await openLot(tx, {
    id: shipment.id,
    kind: "shipment",
    number: shipment.number,
    title: `${type.maker} ${type.model}, form ${type.form}`,
    schemeId: scheme.id,
    schemeCode: scheme.code,
    series: lotSeries({
      kind: "shipments",
      maker: type.maker,
      meterType: type.model,
      contract: shipment.contract,
    }),
    inherits: [],
    programmeId: null,
    year: Number(shipment.receivedOn.slice(0, 4)),
    typeId: type.id,
    contract: shipment.contract,
    purchaseOrder: shipment.purchaseOrder,
    receivedOn: shipment.receivedOn,
    note: shipment.note,
    resubmitsId: null,
    dueOn: null,
  });
  return await getLot(tx, shipment.id, tx.actor);
}

type RefusalCode = (typeof shipmentRefusals)[number];
interface SetAside {
  number: string;
  code: RefusalCode;
  detail: string;
}

const formingSentence = "This shipment is planned: its meters are fixed.";

/** Locks a shipment that still takes meters in. */
export async function lockFormingShipment(
  tx: Tx,
  lotId: string,
): Promise<{ number: string; size: number; typeId: string | null; receivedOn: string }> {
  const receivedOn = await findReceivedOn(tx, lotId);
  if (receivedOn === null) throw notFound("shipment");
  return { ...(await lockLotIn(tx, lotId, ["forming"], formingSentence)), receivedOn };
}

/** Puts meters on record into a shipment by utility number or serial; what cannot enter is set aside with its reason. */
export async function addShipmentNumbers(
  tx: Tx,
  lotId: string,
  numbers: readonly string[],
): Promise<{ added: number; already: number; setAside: SetAside[]; members: number }> {
  const lot = await lockFormingShipment(tx, lotId);
  const wanted = numbers.map((number) => number.trim()).filter((number) => number !== "");
  const found = await lockMetersByNumbers(tx, lotId, [...new Set(wanted)]);
  const byNumber = groupedBy(
    found.filter(({ state }) => !isDoneWith(state)),
    (meter) => meter.utility_number,
  );
  const retired = new Set(
    found.filter(({ state }) => isDoneWith(state)).map((meter) => meter.utility_number),
  );
  const bySerial = groupedBy(found, (meter) => meter.serial);
  const setAside: SetAside[] = [];
  const taken = new Map<string, string>();
  let already = 0;
  for (const number of wanted) {
    const refuse = (code: RefusalCode, detail: string) => setAside.push({ number, code, detail });
    // A serial may be that of several makers: the lot's type says which is meant.
    const bySame = (bySerial.get(number) ?? []).filter((meter) => meter.type_id === lot.typeId);
    const meters = byNumber.get(number) ?? (bySame.length > 0 ? bySame : bySerial.get(number)) ?? [];
    const [meter, second] = meters;
    if (meter === undefined) {
      if (retired.has(number)) refuse("not-received", `Meter ${number} is retired. Correct the number.`);
      else
        refuse(
          "unknown-meter",
          `No meter on record has utility number or serial ${number}. Correct it, or take the maker's list in first.`,
        );
    } else if (second !== undefined) {
      refuse("ambiguous-serial", `Several meters have serial ${number}: use the utility number.`);
    } else if (taken.has(meter.id)) {
      refuse("twice-in-list", `Meter ${number} stands in the list before, as ${taken.get(meter.id)}.`);
    } else if (meter.in_lot) {
      already += 1;
      taken.set(meter.id, number);
    } else {
      const refusal = refusalOf(meter, lot.typeId);
      if (refusal === null) taken.set(meter.id, number);
      else refuse(refusal.code, refusal.detail);
    }
  }
  const fresh = [...taken.keys()].filter((id) => found.some((meter) => meter.id === id && !meter.in_lot));
  const members =
    fresh.length === 0
      ? lot.size
      : (await addMembers(tx, lotId, fresh, { already, setAside: setAside.length })).members;
  return { added: fresh.length, already, setAside, members };
}

function refusalOf(meter: CandidateMeter, typeId: string | null): Omit<SetAside, "number"> | null {
  const number = meter.utility_number;
  if (meter.type_id !== typeId) {
    return {
      code: "other-type",
      detail: `Meter ${number} is of another type than this shipment. Correct the number or serial, or leave the meter out.`,
    };
  }
  if (meter.other_lot !== null) {
    return {
      code: "in-another-lot",
      detail: `Meter ${number} is in lot ${meter.other_lot}, and a meter belongs to one shipment. Correct the number or serial, or leave the meter out.`,
    };
  }
  if (meter.state !== "received") {
    return {
      code: "not-received",
      detail: `Meter ${number} is not newly received: its state is "${meterStateNames[meter.state].toLowerCase()}". Correct the number or serial, or leave the meter out.`,
    };
  }
  return null;
}

/** One row of a maker's list. */
export interface ShipmentRow {
  serial: string;
  /** null where the list gives none: then the meter must be on record. */
  utilityNumber: string | null;
  firmware: string;
  program: string;
  purchasedOn: string | null;
  /** The maker's own results, for information. */
  results: readonly { label: string; registrationPercent: string }[];
}

export type ShipmentRowOutcome =
  | { kind: "added" }
  | { kind: "created" }
  | { kind: "already" }
  | { kind: "set-aside"; code: RefusalCode; detail: string };

/**
 * Takes rows of a maker's list into a shipment: meters on record enter it, new ones are put on record as received first,
 * and what cannot enter is set aside. A row that came before counts as already there, so a list may be sent again.
 *
 * @returns one outcome a row, in order
 */
export async function addShipmentMeters(
  tx: Tx,
  lotId: string,
  rows: readonly ShipmentRow[],
): Promise<ShipmentRowOutcome[]> {
  const { outcomes, add } = await judgeShipmentMeters(tx, lotId, rows);
  await add();
  return outcomes;
}

/**
 * Says what becomes of rows of a maker's list and writes nothing, unless `add` is called. The shipment and the meters
 * that the rows name are locked until the transaction ends, so what is added is what was said.
 *
 * @returns one outcome a row, in order
 */
export async function judgeShipmentMeters(
  tx: Tx,
  lotId: string,
  rows: readonly ShipmentRow[],
): Promise<{ outcomes: ShipmentRowOutcome[]; add: () => Promise<void> }> {
  const lot = await lockFormingShipment(tx, lotId);
  const type = lot.typeId === null ? null : await meterTypeById(tx, lot.typeId);
  if (type === null) throw new Error("a shipment has a meter type");
  const found = await lockMetersOfMaker(
    tx,
    lotId,
    type.maker,
    rows.map(({ serial }) => serial),
    rows.flatMap(({ utilityNumber }) => utilityNumber ?? []),
  );
  const bySerial = new Map(
    found.filter(({ maker }) => maker === type.maker).map((meter) => [meter.serial, meter]),
  );
  const byNumber = new Map(
    found.filter(({ state }) => !isDoneWith(state)).map((meter) => [meter.utility_number, meter]),
  );
  const seenSerials = new Set<string>();
  const seenNumbers = new Set<string>();
  const plans = rows.map((row): RowPlan => {
    const refuse = (code: RefusalCode, detail: string): RowPlan => ({
      outcome: { kind: "set-aside", code, detail },
      meterId: null,
      create: null,
    });
    if (seenSerials.has(row.serial))
      return refuse(
        "twice-in-list",
        `Serial ${row.serial} stands in the list before. Keep the row that is right.`,
      );
    seenSerials.add(row.serial);
    const meter = bySerial.get(row.serial);
    if (meter !== undefined) {
      if (row.utilityNumber !== null && meter.utility_number !== row.utilityNumber) {
        return refuse(
          "number-taken",
          `Serial ${row.serial} is on record with utility number ${meter.utility_number}, not ${row.utilityNumber}. Write that one, or correct the serial.`,
        );
      }
      if (meter.in_lot) return { outcome: { kind: "already" }, meterId: meter.id, create: null };
      const refusal = refusalOf(meter, lot.typeId);
      return refusal === null
        ? { outcome: { kind: "added" }, meterId: meter.id, create: null }
        : refuse(refusal.code, refusal.detail);
    }
    if (row.utilityNumber === null) {
      return refuse(
        "unknown-meter",
        `No meter on record has serial ${row.serial}, and the row gives no utility number to put it on record with. Add it, or correct the serial.`,
      );
    }
    if (byNumber.has(row.utilityNumber) || seenNumbers.has(row.utilityNumber)) {
      return refuse(
        "number-taken",
        `Utility number ${row.utilityNumber} belongs to another meter. Give this one a number of its own.`,
      );
    }
    seenNumbers.add(row.utilityNumber);
    return { outcome: { kind: "created" }, meterId: newId(), create: row };
  });
  return {
    outcomes: plans.map(({ outcome }) => outcome),
    add: () => addPlanned(tx, { id: lotId, number: lot.number, type }, rows, plans),
  };
}

async function addPlanned(
  tx: Tx,
  lot: { id: string; number: string; type: { id: string; maker: string } },
  rows: readonly ShipmentRow[],
  plans: readonly RowPlan[],
): Promise<void> {
  await createNew(tx, { id: lot.type.id, maker: lot.type.maker }, lot.number, plans);
  const entering = plans.flatMap(({ outcome, meterId }, index) =>
    meterId !== null && (outcome.kind === "added" || outcome.kind === "created")
      ? [{ meterId, results: rows[index]?.results ?? [] }]
      : [],
  );
  if (entering.length === 0) return;
  const { entryId } = await addMembers(
    tx,
    lot.id,
    entering.map(({ meterId }) => meterId),
    { fromMakersList: rows.length },
  );
  const withResults = entering.filter(({ results }) => results.length > 0);
  if (withResults.length === 0) return;
  await insertMakerResults(
    tx,
    lot.id,
    withResults.map(({ meterId, results }) => ({ meterId, results: JSON.stringify(results) })),
    entryId,
  );
}

interface RowPlan {
  outcome: ShipmentRowOutcome;
  meterId: string | null;
  create: ShipmentRow | null;
}

async function createNew(
  tx: Tx,
  type: { id: string; maker: string },
  lotNumber: string,
  plans: readonly RowPlan[],
): Promise<void> {
  const news = plans.flatMap(({ meterId, create }) =>
    meterId === null || create === null ? [] : [{ meterId, row: create }],
  );
  if (news.length === 0) return;
  const placeId = await findReceivingPlace(tx);
  if (placeId === null) {
    throw refusedByRule(
      "/id",
      "There is no place of kind shop where a shipment could be taken in: add one first.",
    );
  }
  const performedAt = await databaseTime(tx);
  await addMeters(
    tx,
    news.map(({ meterId, row }) => ({
      id: meterId,
      utilityNumber: row.utilityNumber ?? "",
      serial: row.serial,
      owner: "utility",
      typeId: type.id,
      maker: type.maker,
      firmware: row.firmware,
      program: row.program,
      purchasedOn: row.purchasedOn,
      events: [
        {
          id: newId(),
          meterId,
          kind: "receive" as const,
          performedAt,
          placeId,
          registerReading: null,
          reason: `Received with shipment ${lotNumber}`,
        },
      ],
    })),
  );
}

/** Puts the meters of an accepted shipment in stock; sampled ones that are nonconforming or untestable are held back. */
export async function releaseShipment(
  tx: Tx,
  lotId: string,
  version: number,
  placeId: string,
): Promise<{ lot: Lot; moved: number; heldBack: string[] }> {
  const lot = await lockApproved(tx, lotId, version, true);
  const place = await lockPlace(tx, placeId);
  if (place === null || (place.kind !== "store" && place.kind !== "shelf")) {
    throw refusedByRule("/placeId", "Meters are released to a store or a shelf; choose one from the list.");
  }
  if (place.closed)
    throw refusedByRule("/placeId", `${place.name} is closed; choose another place, or open it.`);
  const { rows: units } = await listDrawUnits(tx, lotId);
  const bad = new Set(knownNonconforming(lot, units));
  const members = await lockMembers(tx, lotId);
  const heldBack = members.filter(({ utility_number }) => bad.has(utility_number));
  const released = members.filter(
    ({ utility_number, state }) => !bad.has(utility_number) && state === "received",
  );
  const performedAt = await databaseTime(tx);
  await moveMeters(
    tx,
    released.map(({ id }) => ({
      id: newId(),
      meterId: id,
      kind: "stock" as const,
      performedAt,
      placeId,
      registerReading: null,
      reason: `Shipment ${lot.number} accepted`,
    })),
  );
  const numbers = heldBack.map(({ utility_number }) => utility_number);
  await dispose(tx, lotId, "released", null, { placeId, moved: released.length, heldBack: numbers });
  return { lot: await getLot(tx, lotId, tx.actor), moved: released.length, heldBack: numbers };
}

/** Sends a shipment that was not accepted back to its maker: its meters leave the inventory, each with the reason. */
export async function returnShipment(
  tx: Tx,
  lotId: string,
  version: number,
  reason: string,
): Promise<{ lot: Lot; moved: number }> {
  const lot = await lockApproved(tx, lotId, version, false);
  const members = (await lockMembers(tx, lotId)).filter(({ state }) => !isDoneWith(state));
  const performedAt = await databaseTime(tx);
  await moveMeters(
    tx,
    members.map(({ id, place_id }) => ({
      id: newId(),
      meterId: id,
      kind: "retire" as const,
      performedAt,
      placeId: place_id,
      registerReading: null,
      reason: `Returned to the maker with shipment ${lot.number}: ${reason}`,
    })),
  );
  await dispose(tx, lotId, "returned", reason, { moved: members.length });
  return { lot: await getLot(tx, lotId, tx.actor), moved: members.length };
}

/**
 * Submits a shipment that was not accepted anew, without the meters that a screening took out. A sampled meter that is known
 * to be nonconforming stays out, unless it was mended and a later pass says so.
 */
export async function resubmitShipment(
  tx: Tx,
  lotId: string,
  request: { id: string; number: string; leftOut: readonly string[]; reason: string },
): Promise<Lot> {
  const lot = await lockApproved(tx, lotId, null, false);
  const members = await lockMembers(tx, lotId);
  const out = new Set(request.leftOut.map((number) => number.trim()));
  for (const [index, number] of request.leftOut.entries()) {
    if (!members.some(({ utility_number }) => utility_number === number.trim())) {
      throw refusedByRule(`/leftOut/${index}`, `Meter ${number} is not in lot ${lot.number}.`);
    }
  }
  const unmended = (await findUnmended(tx, lot)).filter((number) => !out.has(number));
  if (unmended.length > 0) {
    throw refusedByRule(
      "/leftOut",
      `${unmended.length === 1 ? "This sampled meter is" : "These sampled meters are"} known to be nonconforming and ${unmended.length === 1 ? "has" : "have"} no passing test after mending: ${listed(unmended)}. Leave ${unmended.length === 1 ? "it" : "them"} out, or mend and test first.`,
    );
  }
  const rest = members.filter(
    ({ utility_number, state }) => !out.has(utility_number) && state === "received",
  );
  if (rest.length === 0)
    throw refusedByRule("/leftOut", "Nothing is left to submit: return the shipment instead.");
  await openLot(tx, {
    id: request.id,
    kind: "shipment",
    number: request.number,
    title: lot.title,
    schemeId: lot.scheme.id,
    schemeCode: lot.scheme.code,
    series: lot.series,
    inherits: [],
    programmeId: null,
    year: lot.year,
    typeId: lot.typeId,
    contract: lot.contract,
    purchaseOrder: lot.purchaseOrder,
    receivedOn: lot.receivedOn,
    note: `Resubmits lot ${lot.number} after screening: ${request.reason}`,
    resubmitsId: lotId,
    dueOn: null,
  });
  await dispose(tx, lotId, "resubmitted", request.reason, {
    resubmittedAs: request.id,
    leftOut: [...out],
  });
  await addMembers(
    tx,
    request.id,
    rest.map(({ id }) => id),
    { resubmits: lotId, leftOut: out.size },
  );
  return await getLot(tx, request.id, tx.actor);
}

/** Utility numbers of sampled meters that are known to be nonconforming and that no later pass has found good. */
export async function listUnmended(source: Source, lotId: string): Promise<{ utilityNumbers: string[] }> {
  const lot = await getLot(source, lotId, null);
  if (lot.kind !== "shipment") throw notFound("shipment");
  return { utilityNumbers: await findUnmended(source, lot) };
}

async function findUnmended(source: Source, lot: Lot): Promise<string[]> {
  const { rows: units } = await listDrawUnits(source, lot.id);
  const numbers = knownNonconforming(lot, units);
  const suspects = units.filter(({ utilityNumber }) => numbers.includes(utilityNumber));
  const mended = await findMended(
    source,
    suspects.map(({ meterId, test }) => ({ meterId, testId: test?.id ?? null })),
  );
  return suspects.filter(({ meterId }) => !mended.has(meterId)).map(({ utilityNumber }) => utilityNumber);
}

/**
 * Sampled meters that count as nonconforming in the decision, or that failed in themselves: a scheme may look at one load
 * alone and leave the untestable out, and a meter that failed is fit for nothing all the same.
 */
function knownNonconforming(lot: Lot, units: readonly DrawUnit[]): string[] {
  const counted = lot.decision?.evaluation.characteristics.flatMap(({ readings }) =>
    readings.filter(({ conforming }) => conforming === false).map(({ meter }) => meter),
  );
  const failed = units
    .filter(({ test }) => test?.verdict === "fail" || test?.verdict === "no-test-possible")
    .map(({ utilityNumber }) => utilityNumber);
  return [...new Set([...(counted ?? []), ...failed])];
}

function listed(numbers: readonly string[]): string {
  return numbers.length <= 10
    ? numbers.join(", ")
    : `${numbers.slice(0, 10).join(", ")} and ${numbers.length - 10} more`;
}

async function lockApproved(tx: Tx, lotId: string, version: number | null, accepted: boolean): Promise<Lot> {
  const locked = await lockLotIn(
    tx,
    lotId,
    ["approved"],
    "Only a lot whose decision is approved, and that is not closed, can be disposed of.",
    version,
  );
  const lot = await getLot(tx, lotId, tx.actor);
  if (locked.kind !== "shipment") throw new ProblemError("wrong-state", "This lot is a group in service.");
  if ((lot.outcome !== "not-accepted") !== accepted) {
    throw new ProblemError(
      "wrong-state",
      accepted
        ? "This shipment was not accepted: return it, or screen and resubmit it."
        : "This shipment was accepted: release it.",
    );
  }
  return lot;
}
