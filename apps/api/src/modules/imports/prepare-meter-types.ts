import type { InventoryField, MeterTypesMapping } from "@sealbook/contract/imports";
import { type MeterType, newMeterTypeSchema, technologies } from "@sealbook/contract/meter-types";
import { sentenceOfIssue } from "@sealbook/contract/sentence-of-issue";
import { newId, type Tx } from "../../platform/transaction.ts";
import { createMeterType, judgeListedType } from "../meter-types/meter-types.ts";
import { InventoryCells } from "./inventory-cells.ts";
import { misreadRecord } from "./misread-record.ts";
import type { PreparedRows, RowSource } from "./prepared-rows.ts";
import { headingOf, inOrder, type ReadRow, readListed } from "./read-listed.ts";
import type { FileRecord } from "./read-records.ts";

type ListedType = Omit<MeterType, "version" | "retired"> & { readonly rowNumber: number };

/** Reads the rows of a list of meter types and asks the book what becomes of each; types are few, and go in one by one. */
export async function prepareMeterTypes(
  tx: Tx,
  source: RowSource<MeterTypesMapping>,
  records: readonly FileRecord[],
): Promise<PreparedRows> {
  const { layout } = source;
  const { rows, problems } = await readListed(
    tx,
    source,
    records,
    (record) => readTypeRow(record, source),
    ({ maker, model, form, classAmperes }) => [
      { field: "model", text: [maker, model, form, classAmperes].join(" ") },
    ],
  );
  const good: ListedType[] = [];
  let already = 0;
  for (const row of rows) {
    const { rowNumber, id: _, ...type } = row;
    const judged = await judgeListedType(tx, type);
    if (judged.kind === "new") good.push(row);
    else if (judged.kind === "already") already++;
    else {
      const field = judged.field as InventoryField;
      const value = String(type[judged.field as keyof typeof type] ?? "");
      problems.push({
        rowNumber,
        column: headingOf(layout, field),
        value,
        code: "refused",
        detail: judged.detail,
      });
    }
  }
  return {
    good: good.length,
    already,
    problems: inOrder(problems),
    async putIn() {
      for (const { rowNumber: _, ...type } of good) await createMeterType(tx, type);
    },
  };
}

const technologyNames = Object.fromEntries(technologies.map((word) => [word, word])) as Record<
  MeterType["technology"],
  string
>;

function readTypeRow(
  record: FileRecord,
  { layout, mapping }: Pick<RowSource<MeterTypesMapping>, "layout" | "mapping">,
): ReadRow<ListedType> {
  const misread = misreadRecord(record, layout);
  if (misread !== null) return { kind: "problems", problems: [misread] };
  const cells = new InventoryCells(record.fields, layout, mapping);
  const whole = (field: InventoryField) => {
    const text = cells.text(field);
    return text === null ? undefined : Number(text);
  };
  const type = {
    id: newId(),
    maker: cells.needed("maker", 80),
    model: cells.needed("model", 80),
    form: cells.needed("form", 8).toUpperCase(),
    phases: whole("phases"),
    wires: whole("wires"),
    elements: cells.text("elements") ?? undefined,
    classAmperes: cells.positive("classAmperes") ?? undefined,
    testAmperes: cells.positive("testAmperes") ?? undefined,
    voltsMin: cells.positive("voltsMin") ?? undefined,
    voltsMax: cells.positive("voltsMax") ?? undefined,
    designVolts: cells.positive("designVolts") ?? undefined,
    kh: cells.positive("kh") ?? undefined,
    kt: cells.positive("kt"),
    accuracyClass: cells.text("accuracyClass") ?? undefined,
    technology: cells.word("technology", technologyNames) ?? undefined,
    registerDials: whole("registerDials"),
    registerMultiplier: cells.positive("registerMultiplier") ?? "1",
    testPlanCode: cells.needed("testPlanCode", 40),
    circuitFactors: {},
  };
  const parsed = newMeterTypeSchema.safeParse(type);
  if (parsed.success && cells.problems.length === 0) {
    return { kind: "row", row: { ...parsed.data, rowNumber: record.number } };
  }
  const told = new Set(cells.problems.map(({ column }) => column));
  const more = (parsed.error?.issues ?? []).flatMap((issue): typeof cells.problems => {
    const field = String(issue.path[0] ?? "") as InventoryField;
    const column = headingOf(layout, field);
    if (told.has(column)) return [];
    return [{ column, value: cells.text(field) ?? "", code: "malformed", detail: sentenceOfIssue(issue) }];
  });
  return { kind: "problems", problems: [...cells.problems, ...more] };
}
