import type { StoredFile } from "@sealbook/contract/files";
import {
  type Calibration,
  calibrationSchema,
  certificatePointSchema,
  certifiedPointSchema,
  type NewCalibration,
  type Standard,
} from "@sealbook/contract/standards";
import { z } from "zod";
import { personRef } from "../../platform/person-ref.ts";
import { erasedText } from "../../platform/personal-values.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { standardStatusOn } from "./standard-status.ts";

export interface StandardRow {
  id: string;
  designation: string;
  maker: string;
  model: string;
  serial: string;
  rank: "reference" | "working";
  place: string;
  withdrawn: boolean;
  version: number;
  /** Of the calibration that holds on the day asked about. */
  calibrated_on: string | null;
  due_on: string | null;
  certificate_number: string | null;
}

/**
 * The newest calibration on or before a date ($1) that no other record corrects. Of two made on one day the one
 * recorded later holds.
 */
const calibrationOn = `LEFT JOIN LATERAL (
    SELECT c.id AS calibration_id, c.calibrated_on, c.due_on, c.certificate_number
    FROM calibration c
    WHERE c.standard_id = s.id AND c.calibrated_on <= $1
      AND NOT EXISTS (SELECT FROM calibration n WHERE n.supersedes_id = c.id)
    ORDER BY c.calibrated_on DESC, c.recorded_at DESC, c.id DESC LIMIT 1
  ) c ON true`;

const standardColumns = `s.id, s.designation, s.maker, s.model, s.serial, s.rank, s.place, s.withdrawn, s.version,
  c.calibrated_on, c.due_on, c.certificate_number`;

/** Order of urgency: in use before withdrawn, never calibrated first, then by due date, then by designation. */
const urgency = "s.withdrawn, coalesce(c.due_on, '0001-01-01'::date), s.designation";

export async function listStandardRows(
  source: Source,
  page: {
    today: string;
    after: { withdrawn: boolean; dueOn: string; designation: string } | null;
    limit: number;
  },
): Promise<StandardRow[]> {
  return await source.query<StandardRow>(
    `SELECT ${standardColumns} FROM standard s ${calibrationOn}
     WHERE $2::boolean IS NULL OR (${urgency}) > ($2, $3::date, $4::text)
     ORDER BY ${urgency} LIMIT $5`,
    [
      page.today,
      page.after?.withdrawn ?? null,
      page.after?.dueOn ?? null,
      page.after?.designation ?? null,
      page.limit,
    ],
  );
}

export async function findStandardRow(
  source: Source,
  today: string,
  id: string,
): Promise<StandardRow | null> {
  const [row] = await source.query<StandardRow>(
    `SELECT ${standardColumns} FROM standard s ${calibrationOn} WHERE s.id = $2`,
    [today, id],
  );
  return row ?? null;
}

/** The standard, locked until the transaction ends. */
export async function lockStandard(tx: Tx, today: string, id: string): Promise<StandardRow | null> {
  const locked = await tx.query("SELECT id FROM standard WHERE id = $1 FOR UPDATE", [id]);
  return locked.length === 0 ? null : await findStandardRow(tx, today, id);
}

export type StandardFields = Pick<
  StandardRow,
  "designation" | "maker" | "model" | "serial" | "rank" | "place"
>;

export async function insertStandard(
  tx: Tx,
  standard: StandardFields & { id: string },
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO standard (id, designation, maker, model, serial, rank, place, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8)`,
    [
      standard.id,
      standard.designation,
      standard.maker,
      standard.model,
      standard.serial,
      standard.rank,
      standard.place,
      entryId,
    ],
  );
}

export async function updateStandard(
  tx: Tx,
  id: string,
  standard: StandardFields & { withdrawn: boolean },
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE standard SET designation = $2, maker = $3, model = $4, serial = $5, rank = $6, place = $7, withdrawn = $8,
       entry_id = $9, version = version + 1 WHERE id = $1`,
    [
      id,
      standard.designation,
      standard.maker,
      standard.model,
      standard.serial,
      standard.rank,
      standard.place,
      standard.withdrawn,
      entryId,
    ],
  );
}

export function toStandard(row: StandardRow, today: string): Standard {
  return {
    id: row.id,
    designation: row.designation,
    maker: row.maker,
    model: row.model,
    serial: row.serial,
    rank: row.rank,
    place: row.place,
    withdrawn: row.withdrawn,
    status: standardStatusOn(today, { withdrawn: row.withdrawn, dueOn: row.due_on }),
    dueOn: row.due_on,
    calibratedOn: row.calibrated_on,
    certificateNumber: row.certificate_number,
    version: row.version,
  };
}

interface CalibrationRow {
  id: string;
  standard_id: string;
  calibrated_on: string;
  due_on: string;
  certificate_number: string;
  laboratory: string;
  /** Null once the person was forgotten. */
  performed_by: string | null;
  traceability: string;
  against_standard_id: string | null;
  against_designation: string | null;
  sign_convention: Calibration["signConvention"];
  printed_points: string;
  points: string;
  recorded_at: Date;
  actor_id: string | null;
  actor_name: string | null;
  supersedes_id: string | null;
  superseded_by_id: string | null;
  amendment_reason: string | null;
  entry_id: string;
  file_id: string | null;
  file_name: string;
  file_media_type: string;
  file_size: number;
  file_sha256: string;
  file_recorded_at: Date;
}

const calibrationRows = `SELECT c.id, c.standard_id, c.calibrated_on, c.due_on, c.certificate_number, c.laboratory,
    w.value AS performed_by, c.traceability, c.against_standard_id, u.designation AS against_designation, c.sign_convention,
    c.printed_points, c.points, c.recorded_at, c.actor_id, p.value AS actor_name, c.supersedes_id,
    n.id AS superseded_by_id, c.amendment_reason, c.entry_id, c.file_id, f.name AS file_name,
    f.media_type AS file_media_type, f.size AS file_size, f.sha256 AS file_sha256, f.recorded_at AS file_recorded_at
  FROM calibration c
  LEFT JOIN calibration n ON n.supersedes_id = c.id
  LEFT JOIN standard u ON u.id = c.against_standard_id
  LEFT JOIN account a ON a.id = c.actor_id
  LEFT JOIN personal_value p ON p.id = a.name_id
  JOIN personal_value w ON w.id = c.performed_by_id
  LEFT JOIN file f ON f.id = c.file_id`;

/** Calibrations of a standard, newest first; of one day the one recorded later comes first. */
export async function listCalibrations(source: Source, standardId: string): Promise<Calibration[]> {
  const rows = await source.query<CalibrationRow>(
    `${calibrationRows} WHERE c.standard_id = $1 ORDER BY c.calibrated_on DESC, c.recorded_at DESC, c.id DESC LIMIT 200`,
    [standardId],
  );
  return rows.map(toCalibration);
}

export async function findCalibrations(source: Source, ids: readonly string[]): Promise<Calibration[]> {
  if (ids.length === 0) return [];
  const rows = await source.query<CalibrationRow>(`${calibrationRows} WHERE c.id = ANY($1)`, [ids]);
  return rows.map(toCalibration);
}

/** The record that corrects a calibration; null while none does. */
export async function findSuccessor(source: Source, id: string): Promise<Calibration | null> {
  const [row] = await source.query<CalibrationRow>(`${calibrationRows} WHERE c.supersedes_id = $1`, [id]);
  return row === undefined ? null : toCalibration(row);
}

export interface CalibrationOnDateRow {
  standard_id: string;
  on_date: string;
  designation: string;
  maker: string;
  model: string;
  serial: string;
  rank: "reference" | "working";
  withdrawn: boolean;
  /** When the standard was last changed, which is no earlier than when it was withdrawn. */
  changed_at: Date;
  changed_on: string;
  calibration_id: string | null;
  due_on: string | null;
  points: string | null;
}

/** For each pair of standard and local date: the standard and the calibration that held on that date. */
export async function findCalibrationsOnDates(
  source: Source,
  pairs: readonly { standardId: string; localDate: string }[],
): Promise<CalibrationOnDateRow[]> {
  if (pairs.length === 0) return [];
  return await source.query<CalibrationOnDateRow>(
    `SELECT s.id AS standard_id, w.on_date, s.designation, s.maker, s.model, s.serial, s.rank, s.withdrawn,
       e.at AS changed_at, (e.at AT TIME ZONE (SELECT time_zone FROM shop))::date AS changed_on,
       c.id AS calibration_id, c.due_on, c.points
     FROM unnest($1::uuid[], $2::date[]) AS w (standard_id, on_date)
     JOIN standard s ON s.id = w.standard_id
     JOIN ledger_entry e ON e.id = s.entry_id
     LEFT JOIN LATERAL (
       SELECT c.id, c.due_on, c.points FROM calibration c
       WHERE c.standard_id = s.id AND c.calibrated_on <= w.on_date
         AND NOT EXISTS (SELECT FROM calibration n WHERE n.supersedes_id = c.id)
       ORDER BY c.calibrated_on DESC, c.recorded_at DESC, c.id DESC LIMIT 1
     ) c ON true`,
    [pairs.map((pair) => pair.standardId), pairs.map((pair) => pair.localDate)],
  );
}

const printedPointsSchema = z.array(certificatePointSchema);
const pointsSchema = z.array(certifiedPointSchema);

/** Certified points as stored. */
export function parseCertifiedPoints(points: string): Calibration["points"] {
  return pointsSchema.parse(JSON.parse(points));
}

export async function insertCalibration(
  tx: Tx,
  standardId: string,
  calibration: NewCalibration,
  stored: { performedById: string; printedPoints: string; points: string; entryId: string },
): Promise<void> {
  await tx.query(
    `INSERT INTO calibration (id, standard_id, calibrated_on, due_on, certificate_number, laboratory, performed_by_id,
       traceability, against_standard_id, sign_convention, printed_points, points, file_id, supersedes_id,
       amendment_reason, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)`,
    [
      calibration.id,
      standardId,
      calibration.calibratedOn,
      calibration.dueOn,
      calibration.certificateNumber,
      calibration.laboratory,
      stored.performedById,
      calibration.traceability,
      calibration.againstStandardId,
      calibration.signConvention,
      stored.printedPoints,
      stored.points,
      calibration.fileId,
      calibration.supersedesId,
      calibration.amendmentReason,
      stored.entryId,
    ],
  );
}

export async function fileExists(source: Source, id: string): Promise<boolean> {
  return (await source.query("SELECT id FROM file WHERE id = $1", [id])).length > 0;
}

function toCalibration(row: CalibrationRow): Calibration {
  const certificate: StoredFile | null =
    row.file_id === null
      ? null
      : {
          id: row.file_id,
          name: row.file_name,
          mediaType: row.file_media_type,
          size: row.file_size,
          sha256: row.file_sha256,
          recordedAt: row.file_recorded_at.toISOString(),
        };
  return calibrationSchema.parse({
    id: row.id,
    standardId: row.standard_id,
    calibratedOn: row.calibrated_on,
    dueOn: row.due_on,
    certificateNumber: row.certificate_number,
    laboratory: row.laboratory,
    performedBy: row.performed_by ?? erasedText,
    traceability: row.traceability,
    againstStandard:
      row.against_standard_id === null
        ? null
        : { id: row.against_standard_id, designation: row.against_designation ?? "" },
    signConvention: row.sign_convention,
    printedPoints: printedPointsSchema.parse(JSON.parse(row.printed_points)),
    points: parseCertifiedPoints(row.points),
    certificate,
    recordedAt: row.recorded_at.toISOString(),
    recordedBy: personRef(row.actor_id, row.actor_name),
    supersedesId: row.supersedes_id,
    supersededById: row.superseded_by_id,
    amendmentReason: row.amendment_reason,
    entryId: row.entry_id,
  });
}
