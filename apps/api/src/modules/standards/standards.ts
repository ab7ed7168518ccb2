import type { ProblemError as ErrorDetail } from "@sealbook/contract/problems";
import {
  type Calibration,
  type NewCalibration,
  type SignedCalibration,
  type Standard,
  signedCalibrationSchema,
} from "@sealbook/contract/standards";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { fromCursor, noSuchPage, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { keepPersonalValue } from "../../platform/personal-values.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { shopToday } from "../../platform/shop-today.ts";
import { actorOf, type Source, type Tx } from "../../platform/transaction.ts";
import { findSignatures, signWithPassword } from "../people/people.ts";
import { checkCertificate } from "./check-certificate.ts";
import {
  fileExists,
  findCalibrations,
  findCalibrationsOnDates,
  findStandardRow,
  findSuccessor,
  insertCalibration,
  insertStandard,
  listCalibrations,
  listStandardRows,
  lockStandard,
  parseCertifiedPoints,
  type StandardFields,
  toStandard,
  updateStandard,
} from "./store.ts";

export { standardStatusOn } from "./standard-status.ts";

export async function listStandards(
  database: Database,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: Standard[]; next: string | null }> {
  const reader = reading(database);
  const today = await shopToday(reader);
  const rows = await listStandardRows(reader, {
    today,
    after: query.cursor === undefined ? null : placeOf(query.cursor),
    limit: query.limit + 1,
  });
  const page = toPage(rows, query.limit, (row) => [
    String(row.withdrawn),
    row.due_on ?? "0001-01-01",
    row.designation,
  ]);
  return { rows: page.rows.map((row) => toStandard(row, today)), next: page.next };
}

function placeOf(cursor: string): { withdrawn: boolean; dueOn: string; designation: string } {
  const [withdrawn, dueOn, designation] = fromCursor(cursor, 3);
  if (!["true", "false"].includes(String(withdrawn)) || !/^\d{4}-\d\d-\d\d$/.test(String(dueOn))) {
    throw noSuchPage();
  }
  return { withdrawn: withdrawn === "true", dueOn: String(dueOn), designation: String(designation) };
}

export async function getStandard(
  database: Database,
  id: string,
): Promise<Standard & { calibrations: SignedCalibration[] }> {
  const reader = reading(database);
  const today = await shopToday(reader);
  const row = await findStandardRow(reader, today, id);
  if (row === null) throw notFound("standard");
  return {
    ...toStandard(row, today),
    calibrations: await withSignatures(reader, await listCalibrations(reader, id)),
  };
}

async function withSignatures(
  source: Source,
  calibrations: readonly Calibration[],
): Promise<SignedCalibration[]> {
  const signatures = await findSignatures(
    source,
    calibrations.map(({ id }) => id),
  );
  return calibrations.map((calibration) =>
    signedCalibrationSchema.parse({ ...calibration, signatures: signatures.get(calibration.id) ?? [] }),
  );
}

/**
 * Every standard with its status on a day and the calibration that held then, most urgent first, at most 100. One that
 * was withdrawn on that day or later was in use until then; today it is withdrawn.
 *
 * @param day  local date; today unless given
 */
export async function listStandardsToUse(
  reader: Source,
  day?: string,
): Promise<(Standard & { calibration: Calibration | null })[]> {
  const today = await shopToday(reader);
  const onDate = day ?? today;
  const rows = await listStandardRows(reader, { today: onDate, after: null, limit: 100 });
  const held = await findCalibrationsOnDates(
    reader,
    rows.map((row) => ({ standardId: row.id, localDate: onDate })),
  );
  const idOf = new Map(held.map((row) => [row.standard_id, row.calibration_id]));
  const inUse = new Set(
    held.filter((row) => onDate < today && row.changed_on >= onDate).map((row) => row.standard_id),
  );
  const calibrations = await findCalibrations(
    reader,
    [...idOf.values()].filter((id) => id !== null),
  );
  const calibrationOf = new Map(calibrations.map((calibration) => [calibration.standardId, calibration]));
  return rows.map((row) => ({
    ...toStandard({ ...row, withdrawn: row.withdrawn && !inUse.has(row.id) }, onDate),
    calibration: calibrationOf.get(row.id) ?? null,
  }));
}

/** A calibration as a reply shows it. */
export async function getCalibration(reader: Source, id: string): Promise<Calibration> {
  const [calibration] = await findCalibrations(reader, [id]);
  if (calibration === undefined) throw notFound("calibration");
  return calibration;
}

/** A standard on a date, and the calibration that held then. */
export interface StandardOnDate {
  standardId: string;
  localDate: string;
  designation: string;
  maker: string;
  model: string;
  serial: string;
  rank: "reference" | "working";
  /** Since when it has been out of use, or a later change while it was; null while it is in use. */
  withdrawnAt: Date | null;
  /** The newest calibration on or before the date that no other record corrects; it may be overdue. */
  calibration: { id: string; dueOn: string; points: Calibration["points"]; overdue: boolean } | null;
}

/** Standards with the calibrations that held on given local dates, one row for each pair that exists. */
export async function standardsOnDates(
  reader: Source,
  pairs: readonly { standardId: string; localDate: string }[],
): Promise<StandardOnDate[]> {
  const rows = await findCalibrationsOnDates(reader, pairs);
  return rows.map((row) => ({
    standardId: row.standard_id,
    localDate: row.on_date,
    designation: row.designation,
    maker: row.maker,
    model: row.model,
    serial: row.serial,
    rank: row.rank,
    withdrawnAt: row.withdrawn ? row.changed_at : null,
    calibration:
      row.calibration_id === null || row.due_on === null || row.points === null
        ? null
        : {
            id: row.calibration_id,
            dueOn: row.due_on,
            points: parseCertifiedPoints(row.points),
            overdue: row.due_on < row.on_date,
          },
  }));
}

/** The standard and its calibration on one local date; null when there is no such standard. */
export async function calibrationFor(
  reader: Source,
  standardId: string,
  localDate: string,
): Promise<StandardOnDate | null> {
  return (await standardsOnDates(reader, [{ standardId, localDate }]))[0] ?? null;
}

export async function createStandard(tx: Tx, standard: StandardFields & { id: string }): Promise<Standard> {
  const { id, ...fields } = standard;
  const entryId = await writeEntry(tx, {
    action: "standard.create",
    subjectType: "standard",
    subjectId: id,
    payload: { ...fields },
  });
  await orDesignationTaken(fields.designation, () => insertStandard(tx, standard, entryId));
  return await standardNow(tx, id);
}

export async function changeStandard(
  tx: Tx,
  id: string,
  version: number,
  change: StandardFields & { withdrawn: boolean; reason: string },
): Promise<Standard> {
  const today = await shopToday(tx);
  const row = await lockStandard(tx, today, id);
  if (row === null) throw notFound("standard");
  if (row.version !== version) {
    throw new ProblemError("stale", "Someone changed this standard since you opened it.", {
      current: toStandard(row, today),
    });
  }
  const { reason, ...after } = change;
  const before = {
    designation: row.designation,
    maker: row.maker,
    model: row.model,
    serial: row.serial,
    rank: row.rank,
    place: row.place,
    withdrawn: row.withdrawn,
  };
  const entryId = await writeEntry(tx, {
    action: "standard.change",
    subjectType: "standard",
    subjectId: id,
    reason,
    payload: { before, after },
  });
  await orDesignationTaken(after.designation, () => updateStandard(tx, id, after, entryId));
  return await standardNow(tx, id);
}

/** Records what a certificate says, in its own sign convention and as percent registration. */
export async function recordCalibration(
  tx: Tx,
  standardId: string,
  calibration: NewCalibration,
): Promise<Calibration> {
  const today = await shopToday(tx);
  const standard = await lockStandard(tx, today, standardId);
  if (standard === null) throw notFound("standard");
  const errors = await whatRefuses(tx, standardId, calibration, today);
  const checked = checkCertificate(calibration);
  if (checked.kind === "refused") errors.push(...checked.errors);
  if (errors.length > 0 || checked.kind === "refused") {
    throw new ProblemError("refused-by-rule", errors[0]?.detail ?? "The certificate cannot be taken.", {
      errors,
    });
  }
  const { id, performedBy, ...recorded } = calibration;
  const person = await keepPersonalValue(tx, "person-name", performedBy);
  const entryId = await writeEntry(tx, {
    action: "calibration.record",
    subjectType: "calibration",
    subjectId: id,
    reason: calibration.amendmentReason,
    payload: {
      standardId,
      ...recorded,
      performedByCommitment: person.commitment,
      registrations: checked.points,
    },
  });
  try {
    await insertCalibration(tx, standardId, calibration, {
      performedById: person.id,
      printedPoints: canonicalJson(calibration.points),
      points: canonicalJson(checked.points),
      entryId,
    });
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw refusedByRule("/id", "A calibration with this id is on record; send yours under a new one.");
  }
  return await getCalibration(tx, id);
}

/** Signs the record of a calibration: whoever recorded it signs for that, anybody else that they compared it. */
export async function signCalibration(
  tx: Tx,
  standardId: string,
  calibrationId: string,
  password: string,
): Promise<SignedCalibration> {
  const calibration = await getCalibration(tx, calibrationId);
  if (calibration.standardId !== standardId) throw notFound("calibration");
  if (calibration.supersededById !== null) {
    throw new ProblemError("wrong-state", "A later record corrects this one; sign that one.");
  }
  const meaning = calibration.recordedBy?.id === actorOf(tx).id ? "recorded" : "reviewed";
  await signWithPassword(
    tx,
    {
      subjectType: "calibration",
      subjectId: calibrationId,
      meaning,
      recordEntryId: calibration.entryId,
      action: "calibration.sign",
    },
    password,
  );
  const [signed] = await withSignatures(tx, [calibration]);
  if (signed === undefined) throw new Error("one calibration in, one out");
  return signed;
}

async function whatRefuses(
  tx: Tx,
  standardId: string,
  calibration: NewCalibration,
  today: string,
): Promise<ErrorDetail[]> {
  const errors: ErrorDetail[] = [];
  if (calibration.calibratedOn > today) {
    errors.push({ pointer: "/calibratedOn", detail: "A calibration is recorded once it has been done." });
  }
  if (calibration.dueOn <= calibration.calibratedOn) {
    errors.push({ pointer: "/dueOn", detail: "The due date comes after the calibration." });
  }
  if (calibration.fileId !== null && !(await fileExists(tx, calibration.fileId))) {
    errors.push({ pointer: "/fileId", detail: "This file is not on record; send the certificate again." });
  }
  if (calibration.againstStandardId !== null) {
    errors.push(...(await whatRefusesUpward(tx, standardId, calibration.againstStandardId, calibration)));
  }
  if ((calibration.supersedesId === null) !== (calibration.amendmentReason === null)) {
    errors.push({
      pointer: "/amendmentReason",
      detail: "A record that corrects another says which one and why; a first record says neither.",
    });
  }
  if (calibration.supersedesId !== null) {
    const [corrected] = await findCalibrations(tx, [calibration.supersedesId]);
    if (corrected === undefined || corrected.standardId !== standardId) {
      errors.push({ pointer: "/supersedesId", detail: "This standard has no such calibration record." });
    } else if (corrected.supersededById !== null) {
      // The standard's row is locked, so nobody can correct the same record between this look and the insert.
      throw new ProblemError(
        "already-amended",
        "Someone corrected this calibration record first; open the newer one.",
        { current: await findSuccessor(tx, calibration.supersedesId) },
      );
    }
  }
  return errors;
}

async function whatRefusesUpward(
  tx: Tx,
  standardId: string,
  againstStandardId: string,
  { calibratedOn }: NewCalibration,
): Promise<ErrorDetail[]> {
  const pointer = "/againstStandardId";
  if (againstStandardId === standardId) {
    return [{ pointer, detail: "A standard is not calibrated against itself." }];
  }
  const upper = await calibrationFor(tx, againstStandardId, calibratedOn);
  if (upper === null) return [{ pointer, detail: "This standard is not on record." }];
  if (upper.calibration === null || upper.calibration.overdue) {
    return [
      {
        pointer,
        detail: `${upper.designation} had no valid calibration on ${calibratedOn}, so nothing can be traced to it.`,
        rule: "A standard is compared with one that is itself in calibration (traceability)",
      },
    ];
  }
  return [];
}

async function standardNow(tx: Tx, id: string): Promise<Standard> {
  const today = await shopToday(tx);
  const row = await findStandardRow(tx, today, id);
  if (row === null) throw notFound("standard");
  return toStandard(row, today);
}

async function orDesignationTaken(designation: string, write: () => Promise<void>): Promise<void> {
  try {
    await write();
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      `A standard called ${designation} is on record; choose another name.`,
      { errors: [{ pointer: "/designation", detail: "This designation is taken." }] },
    );
  }
}
