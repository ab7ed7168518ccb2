import type { MeterType } from "@sealbook/contract/meter-types";
import { circuitFactorsSchema } from "@sealbook/contract/meter-types";
import type { Database } from "../../platform/database.ts";
import type { Source, Tx } from "../../platform/transaction.ts";

export interface MeterTypeRow {
  id: string;
  maker: string;
  model: string;
  form: string;
  phases: number;
  wires: number;
  elements: MeterType["elements"];
  class_amperes: string;
  test_amperes: string;
  volts_min: string;
  volts_max: string;
  design_volts: string;
  kh: string;
  kt: string | null;
  accuracy_class: MeterType["accuracyClass"];
  technology: MeterType["technology"];
  register_dials: number;
  register_multiplier: string;
  test_plan_code: string;
  circuit_factors: string;
  retired: boolean;
  version: number;
}

const fields = `maker, model, form, phases, wires, elements, class_amperes, test_amperes, volts_min, volts_max, design_volts, kh, kt,
  accuracy_class, technology, register_dials, register_multiplier, test_plan_code, circuit_factors`;

export function toMeterType(row: MeterTypeRow): MeterType {
  return {
    id: row.id,
    maker: row.maker,
    model: row.model,
    form: row.form,
    phases: row.phases,
    wires: row.wires,
    elements: row.elements,
    classAmperes: row.class_amperes,
    testAmperes: row.test_amperes,
    voltsMin: row.volts_min,
    voltsMax: row.volts_max,
    designVolts: row.design_volts,
    kh: row.kh,
    kt: row.kt,
    accuracyClass: row.accuracy_class,
    technology: row.technology,
    registerDials: row.register_dials,
    registerMultiplier: row.register_multiplier,
    testPlanCode: row.test_plan_code,
    circuitFactors: circuitFactorsSchema.parse(JSON.parse(row.circuit_factors)),
    retired: row.retired,
    version: row.version,
  };
}

/** Types by maker and model with the number of their meters; counting goes through the type index. */
export async function findMeterTypes(
  database: Database,
  filter: { after: [string, string, string] | null; limit: number },
): Promise<(MeterType & { meters: number })[]> {
  const { rows } = await database.pool.query<MeterTypeRow & { meters: number }>(
    `SELECT t.*, (SELECT count(*)::int FROM meter m WHERE m.type_id = t.id) AS meters FROM meter_type t
     WHERE $1::text IS NULL OR (t.maker, t.model, t.id::text) > ($1, $2, $3)
     ORDER BY t.maker, t.model, t.id::text LIMIT $4`,
    [filter.after?.[0] ?? null, filter.after?.[1] ?? null, filter.after?.[2] ?? null, filter.limit],
  );
  return rows.map((row) => ({ ...toMeterType(row), meters: row.meters }));
}

export async function findMeterType(source: Source, id: string): Promise<MeterType | null> {
  const [row] = await source.query<MeterTypeRow>("SELECT * FROM meter_type WHERE id = $1", [id]);
  return row === undefined ? null : toMeterType(row);
}

/** The type of this maker, model, form and class, which are unique together; null when there is none. */
export async function findMeterTypeByNameplate(
  source: Source,
  type: Pick<MeterType, "maker" | "model" | "form" | "classAmperes">,
): Promise<MeterType | null> {
  const [row] = await source.query<MeterTypeRow>(
    "SELECT * FROM meter_type WHERE maker = $1 AND model = $2 AND form = $3 AND class_amperes = $4",
    [type.maker, type.model, type.form, type.classAmperes],
  );
  return row === undefined ? null : toMeterType(row);
}

export async function findMeterTypesById(source: Source, ids: readonly string[]): Promise<MeterType[]> {
  const rows = await source.query<MeterTypeRow>("SELECT * FROM meter_type WHERE id = ANY($1)", [ids]);
  return rows.map(toMeterType);
}

export async function lockMeterType(tx: Tx, id: string): Promise<MeterType | null> {
  const [row] = await tx.query<MeterTypeRow>("SELECT * FROM meter_type WHERE id = $1 FOR UPDATE", [id]);
  return row === undefined ? null : toMeterType(row);
}

function values(type: Omit<MeterType, "id" | "version" | "retired">): unknown[] {
  return [
    type.maker,
    type.model,
    type.form,
    type.phases,
    type.wires,
    type.elements,
    type.classAmperes,
    type.testAmperes,
    type.voltsMin,
    type.voltsMax,
    type.designVolts,
    type.kh,
    type.kt,
    type.accuracyClass,
    type.technology,
    type.registerDials,
    type.registerMultiplier,
    type.testPlanCode,
    JSON.stringify(type.circuitFactors),
  ];
}

export async function insertMeterType(
  tx: Tx,
  type: Omit<MeterType, "version" | "retired">,
  entryId: string,
): Promise<void> {
  await tx.query(
    `INSERT INTO meter_type (${fields}, id, entry_id)
     VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21)`,
    [...values(type), type.id, entryId],
  );
}

export async function updateMeterType(
  tx: Tx,
  type: Omit<MeterType, "version">,
  entryId: string,
): Promise<void> {
  await tx.query(
    `UPDATE meter_type SET (${fields}, retired, entry_id, version) =
       ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19, $20, $21, version + 1)
     WHERE id = $22`,
    [...values(type), type.retired, entryId, type.id],
  );
}
