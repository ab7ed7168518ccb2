import { shipmentMappingSchema, type TestMapping, testMappingSchema } from "@sealbook/contract/imports";
import { describe, expect, it } from "vitest";
import { columnTitles } from "./column-titles.ts";
import { dateOrderOf } from "./date-order-of.ts";
import { decimalMarkOf } from "./decimal-mark-of.ts";
import { formFromMapping } from "./form-from-mapping.ts";
import { formatBytes } from "./format-bytes.ts";
import { countOf } from "./format-count.ts";
import {
  importFieldName,
  importFieldOptions,
  pointsOfPlans,
  shipmentFieldsOffered,
  testFieldsOffered,
} from "./import-fields.ts";
import { mappingBody } from "./mapping-body.ts";
import { dropDraft, keepDraft, readDraft } from "./mapping-draft.ts";
import type { MappingForm } from "./mapping-form.ts";
import { clashLines } from "./mapping-lines.ts";
import { mappingFieldName } from "./mapping-names.ts";
import { mappingPointer } from "./mapping-pointer.ts";
import { missingHeadings } from "./missing-headings.ts";
import { newMappingForm } from "./new-mapping-form.ts";
import { rebasedMapping } from "./rebased-mapping.ts";
import { separatorOf } from "./separator-of.ts";
import { withColumnField } from "./with-column-field.ts";
import { withWordsSetAside } from "./with-words-set-aside.ts";
import { withBlankRow, withWords } from "./word-rows.ts";

// The files and mappings here are made up for the test; what is expected of them is read off by hand.

const file = {
  kind: "meter-tests" as const,
  headings: ["Meter", "When", "Why", "FL %", "FL counts", "FL Wh"],
  sample: [
    ["0012", "31.03.2026 14:05", "Routine", "99,87", "", ""],
    ["0013", "01.04.2026 08:10", "ROUTINE", "100,02", "10", "72,1"],
  ],
};
const opened = { separator: ";", timeZone: "America/Chicago" } as const;

/** A form in which everything is answered: figures as errors of a bench that corrected them. */
function answered(): MappingForm {
  let form = newMappingForm(file, opened);
  for (const [index, field] of ["meterNumber", "performedAt", "reason", "FL.asFound"].entries()) {
    form = withColumnField(form, index, field, index === 2 ? ["Routine", "ROUTINE"] : []);
  }
  return {
    ...form,
    name: " Bench east ",
    figures: "error",
    errorAppliedByBench: "yes",
    standardDesignation: "RS-9",
    reasons: form.reasons.map((row) => ({ ...row, meaning: "periodic" })),
  };
}

describe("a new mapping", () => {
  it("takes from the first rows how the file is written, where they leave no doubt", () => {
    const form = newMappingForm(file, opened);
    expect(form.decimalMark).toBe(",");
    expect(form.dateOrder).toBe("day-month-year");
    expect(form.separator).toBe(";");
    expect(form.timeZone).toBe("America/Chicago");
  });

  it("never presets what decides a result: the standard's error, the convention, the unit", () => {
    const form = newMappingForm(file, opened);
    expect(form.errorAppliedByBench).toBe("");
    expect(form.figures).toBe("");
    expect(form.energyUnit).toBe("");
  });

  it("names every choice that is still open, at its place", () => {
    const form = {
      ...newMappingForm(file, { separator: "", timeZone: "" }),
      decimalMark: "",
      dateOrder: "",
    } as const;
    const mapped = withColumnField(withColumnField(form, 3, "FL.asFound", []), 5, "FL.standardEnergy", []);
    const made = mappingBody(mapped);
    expect(made.kind === "open" ? made.open.map(({ pointer }) => pointer) : []).toEqual([
      "/name",
      "/separator",
      "/decimalMark",
      "/dateOrder",
      "/timeZone",
      "/figures",
      "/energyUnit",
      "/errorAppliedByBench",
    ]);
  });

  it("does not ask for the convention of figures that no column holds", () => {
    const form = newMappingForm(file, opened);
    const counted = withColumnField(withColumnField(form, 4, "FL.counts", []), 5, "FL.standardEnergy", []);
    const made = mappingBody({ ...counted, name: "Counts", energyUnit: "kWh", errorAppliedByBench: "no" });
    expect(made).toMatchObject({
      kind: "body",
      body: { energyUnit: "kWh", errorAppliedByBench: false, columns: { "FL counts": "FL.counts" } },
    });
  });

  it("makes a body that the contract takes and that the form reads back", () => {
    const made = mappingBody(answered());
    if (made.kind !== "body") throw new Error("everything is answered");
    expect(testMappingSchema.parse(made.body)).toEqual({
      kind: "meter-tests",
      format: 1,
      separator: ";",
      decimalMark: ",",
      columns: { Meter: "meterNumber", When: "performedAt", Why: "reason", "FL %": "FL.asFound" },
      figures: "error",
      energyUnit: "Wh",
      dateOrder: "day-month-year",
      timeZone: "America/Chicago",
      planCode: null,
      standardDesignation: "RS-9",
      errorAppliedByBench: true,
      reasons: { Routine: "periodic" },
      defaultReason: null,
      noTestPossible: {},
      creepWords: {},
    });
    const again = mappingBody(formFromMapping({ name: "Bench east", body: made.body }, file.headings));
    expect(again).toEqual(made);
  });
});

describe("a mapping of a maker's list", () => {
  const list = {
    kind: "shipment-meters" as const,
    headings: ["Serial No", "Badge", "FL err", "Bought"],
    sample: [["A-1", "70001", "0,12", "31.10.2026"]],
  };
  function mapped() {
    let form = newMappingForm(list, opened);
    for (const [index, field] of ["serial", "utilityNumber", "fullLoad"].entries()) {
      form = withColumnField(form, index, field, []);
    }
    return { ...form, name: "Alderwick lists" };
  }

  it("asks nothing about benches, and for the figures' convention only where there are figures", () => {
    const made = mappingBody(mapped());
    expect(made.kind === "open" ? made.open.map(({ pointer }) => pointer) : []).toEqual(["/figures"]);
    const bare = mappingBody(withColumnField({ ...mapped(), dateOrder: "" }, 2, "", []));
    expect(bare).toMatchObject({
      kind: "body",
      body: { columns: { "Serial No": "serial", Badge: "utilityNumber" } },
    });
    const dated = mappingBody(
      withColumnField({ ...mapped(), figures: "error", dateOrder: "" }, 3, "purchasedOn", []),
    );
    expect(dated.kind === "open" ? dated.open.map(({ pointer }) => pointer) : []).toEqual(["/dateOrder"]);
  });

  it("makes a body that the contract takes and that the form reads back", () => {
    const made = mappingBody({ ...mapped(), figures: "error" });
    if (made.kind !== "body") throw new Error("everything is answered");
    expect(shipmentMappingSchema.parse(made.body)).toEqual({
      kind: "shipment-meters",
      format: 1,
      separator: ";",
      decimalMark: ",",
      figures: "error",
      dateOrder: "day-month-year",
      columns: { "Serial No": "serial", Badge: "utilityNumber", "FL err": "fullLoad" },
    });
    expect(mappingBody(formFromMapping({ name: "Alderwick lists", body: made.body }, list.headings))).toEqual(
      made,
    );
  });

  it("is offered only fields that the contract knows, each in words", () => {
    const options = importFieldOptions(shipmentFieldsOffered, [{ heading: "a", field: "" }], 0);
    const columns = Object.fromEntries(options.map(({ value }) => [value, value]));
    expect(shipmentMappingSchema.shape.columns.safeParse(columns).success).toBe(true);
    expect(options.every(({ label, value }) => label !== value)).toBe(true);
  });
});

describe("how a file is written", () => {
  it("leaves the order of 03/04/2026 open, and takes any date that can be read one way only", () => {
    expect(dateOrderOf(["03/04/2026", "05/06/2026"])).toBe("");
    expect(dateOrderOf(["03/04/2026", "03/31/2026"])).toBe("month-day-year");
    expect(dateOrderOf(["03/04/2026", "31/03/2026"])).toBe("day-month-year");
    expect(dateOrderOf(["2026-03-31 10:00", "x"])).toBe("iso");
    expect(dateOrderOf(["31/03/2026", "03/31/2026"])).toBe("");
    expect(dateOrderOf(["100-02-03", "no date"])).toBe("");
  });

  it("takes a decimal mark only where one alone occurs", () => {
    expect(decimalMarkOf(["99,87", "100"])).toBe(",");
    expect(decimalMarkOf(["99.87", "-0.1"])).toBe(".");
    expect(decimalMarkOf(["99,87", "99.87"])).toBe("");
    expect(decimalMarkOf(["100", "31.03.2026", "RS-1.2"])).toBe("");
  });

  it("finds the separator that cuts the first line into the headings, quoted ones whole", () => {
    expect(separatorOf("Meter,When,FL", 3)).toBe(",");
    expect(separatorOf('"Meter, old";When;FL', 3)).toBe(";");
    expect(separatorOf("Meter\tWhen\tFL, %", 3)).toBe("\t");
    expect(separatorOf("Meter|When", 2)).toBe("|");
    expect(separatorOf("Meter", 1)).toBe(",");
    expect(separatorOf("", 3)).toBe("");
  });
});

describe("a mapping's columns", () => {
  const points = pointsOfPlans([
    { body: { points: [{ key: "FL", label: "Full load" }] } },
    {
      body: {
        points: [
          { key: "FL", label: "Full load again" },
          { key: "LL-A", label: "Light load, element A" },
        ],
      },
    },
  ]);

  it("may mean any point of any plan, each once", () => {
    expect(points).toEqual([
      { key: "FL", label: "Full load" },
      { key: "LL-A", label: "Light load, element A" },
    ]);
    const options = importFieldOptions(testFieldsOffered(points), [{ heading: "a", field: "" }], 0);
    const fields = options.map(({ value }) => value);
    expect(fields.filter((field) => field.startsWith("LL-A."))).toEqual([
      "LL-A.asFound",
      "LL-A.asLeft",
      "LL-A.counts",
      "LL-A.standardEnergy",
    ]);
    expect(new Set(fields).size).toBe(fields.length);
  });

  it("offers only fields that the contract knows", () => {
    const fields = importFieldOptions(testFieldsOffered(points), [], 0).map(({ value }) => value);
    const columns = Object.fromEntries(fields.map((field) => [field, field]));
    expect(testMappingSchema.shape.columns.safeParse(columns).success).toBe(true);
  });

  it("says which column has a meaning already, and keeps a point that no plan has any more", () => {
    const columns = [
      { heading: "A", field: "FL.asFound" },
      { heading: "B", field: "XX.asLeft" },
    ];
    const options = importFieldOptions(testFieldsOffered(points), columns, 1);
    expect(options.find(({ value }) => value === "FL.asFound")?.note).toBe('Full load; column "A" has it');
    expect(options.find(({ value }) => value === "XX.asLeft")?.label).toBe("XX as left");
  });

  it("are told apart by place where a heading stands twice or is blank", () => {
    expect(columnTitles(["A", " B", "A", ""])).toEqual(["A (column 1)", "B", "A (column 3)", "(column 4)"]);
  });

  it("of a saved mapping stay in the form though the file lacks them", () => {
    const made = mappingBody(answered());
    if (made.kind !== "body") throw new Error("everything is answered");
    const form = formFromMapping({ name: "x", body: made.body }, ["When ", "Meter", "FL %"]);
    expect(form.columns).toEqual([
      { heading: "When", field: "performedAt", isInFile: true },
      { heading: "Meter", field: "meterNumber", isInFile: true },
      { heading: "FL %", field: "FL.asFound", isInFile: true },
      { heading: "Why", field: "reason", isInFile: false },
    ]);
    expect(missingHeadings(made.body, ["When ", "Meter", "FL %"])).toEqual(["Why"]);
  });
});

describe("the words of a file", () => {
  it("are listed once when their column is chosen, whatever their capitals, save those that are ours", () => {
    const form = withColumnField(newMappingForm(file, opened), 2, "reason", [
      "Routine",
      "ROUTINE",
      "Periodic",
      "",
    ]);
    expect(form.reasons.map(({ word, meaning }) => [word, meaning])).toEqual([["Routine", ""]]);
  });

  it("without a meaning are left out of the mapping", () => {
    const form = answered();
    const made = mappingBody({ ...form, reasons: withWords(form.reasons, ["WHIM"]) });
    expect(made).toMatchObject({ body: { reasons: { Routine: "periodic" } } });
  });

  it("keep their keys apart when rows come and go", () => {
    const two = withBlankRow(withBlankRow([]));
    const [first, second] = two;
    if (first === undefined || second === undefined) throw new Error("two rows were added");
    const keys = withBlankRow([second]).map(({ key }) => key);
    expect(new Set(keys).size).toBe(2);
  });

  it("that the dry run did not know stand in the form, under their own field", () => {
    const form = withColumnField(answered(), 4, "creep", []);
    const asLeft = withWordsSetAside(withColumnField(answered(), 4, "creepAsLeft", []), [
      { code: "unknown-word", column: "FL counts", value: "maybe" },
    ]);
    expect(asLeft.creepWords.map(({ word }) => word)).toEqual(["maybe"]);
    const filled = withWordsSetAside(form, [
      { code: "unknown-reason", column: "Why", value: "WHIM" },
      { code: "unknown-word", column: "FL counts", value: "perhaps" },
      { code: "unknown-meter", column: "Meter", value: "X1" },
    ]);
    expect(filled.reasons.map(({ word }) => word)).toEqual(["Routine", "WHIM"]);
    expect(filled.creepWords.map(({ word }) => word)).toEqual(["perhaps"]);
  });
});

describe("a refused mapping", () => {
  it("marks the column and the word that the service names", () => {
    const form = { ...answered(), columns: answered().columns.map((column) => ({ ...column })) };
    expect(mappingPointer("/body/columns/FL %", form)).toBe("/columns/3");
    expect(mappingPointer("/body/reasons/Routine", form)).toBe("/reasons/0");
    expect(mappingPointer("/body/columns", form)).toBe("/columns");
    expect(mappingPointer("/body/timeZone", form)).toBe("/timeZone");
    expect(mappingPointer("/name", form)).toBe("/name");
    expect(mappingFieldName("/columns/3", form)).toBe('Column "FL %"');
  });

  it("finds a heading with a slash or a tilde in it", () => {
    // RFC 6901 section 3: "/" is written ~1 and "~" is written ~0.
    const columns = [{ heading: "a/b~c", field: "serial", isInFile: true }];
    const form = { columns, reasons: [], noTestPossible: [], creepWords: [] };
    expect(mappingPointer("/body/columns/a~1b~0c", form)).toBe("/columns/0");
    expect(mappingPointer("/body/columns/a/b~c", form)).toBe("/columns/0");
  });
});

describe("a mapping that somebody else has changed meanwhile", () => {
  const made = mappingBody(answered());
  if (made.kind !== "body" || made.body.kind !== "meter-tests") throw new Error("everything is answered");
  const opened: { name: string; body: TestMapping } = { name: "Bench", body: made.body };
  const mine: typeof opened = {
    name: "Bench east",
    body: {
      ...made.body,
      columns: { Meter: "serial", When: "performedAt", Why: "reason", "FL %": "FL.asFound" },
      reasons: {},
    },
  };
  const theirs: typeof opened = {
    name: "Bench",
    body: {
      ...made.body,
      errorAppliedByBench: false,
      columns: { Meter: "meterNumber", When: "performedAt", "FL %": "FL.asFound", Note: "remarks" },
      reasons: { Routine: "periodic", Removed: "removal" },
      defaultReason: "removal",
    },
  };

  it("takes one's own changes on top, column by column and word by word", () => {
    expect(rebasedMapping(opened, mine, theirs)).toEqual({
      name: "Bench east",
      body: {
        ...made.body,
        errorAppliedByBench: false,
        columns: { Meter: "serial", When: "performedAt", "FL %": "FL.asFound", Note: "remarks" },
        reasons: { Removed: "removal" },
        defaultReason: "removal",
      },
    });
  });

  it("shows every line that differs from what it was or from what it would become", () => {
    const lines = clashLines(opened, rebasedMapping(opened, mine, theirs), theirs);
    const row = (label: string, was: string, now: string, then: string) => ({
      label,
      opened: was,
      theirs: now,
      mine: then,
    });
    expect(lines.filter((line) => line.mine !== line.theirs || line.theirs !== line.opened)).toEqual([
      row("Name of the mapping", "Bench", "Bench", "Bench east"),
      row("Did the bench already apply the standard's certified error?", "Yes", "No", "No"),
      row("Reason for test", "By its column", "Removal", "Removal"),
      row('Column "Meter"', "Meter number", "Meter number", "Maker's serial"),
      row('Column "Note"', "–", "Remarks", "Remarks"),
      row('Reason "Routine"', "Periodic", "Periodic", "–"),
      row('Reason "Removed"', "–", "Removal", "Removal"),
      row('Column "Why"', "Reason for test", "–", "–"),
    ]);
  });
});

describe("a mapping's draft", () => {
  function memory() {
    const kept = new Map<string, string>();
    return {
      getItem: (key: string) => kept.get(key) ?? null,
      setItem: (key: string, value: string) => void kept.set(key, value),
      removeItem: (key: string) => void kept.delete(key),
    };
  }

  it("comes back for its own import and mapping only, with the mapping it was based on", () => {
    const storage = memory();
    const made = mappingBody(answered());
    if (made.kind !== "body") throw new Error("everything is answered");
    const id = "01890000-0000-7000-8000-000000000001";
    const draft = {
      format: 1 as const,
      mappingId: id,
      base: { id, name: "Bench", body: made.body, version: 3 },
      form: answered(),
    };
    keepDraft(storage, "import-1", draft);
    expect(readDraft(storage, "import-1", id)).toEqual(draft);
    expect(readDraft(storage, "import-1", "another")).toBeNull();
    expect(readDraft(storage, "import-2", id)).toBeNull();
    dropDraft(storage, "import-1");
    expect(readDraft(storage, "import-1", id)).toBeNull();
  });

  it("that cannot be read or kept is none", () => {
    const storage = memory();
    storage.setItem("sealbook.mapping-draft.import-1", '{"format":1,"mappingId":"new"}');
    expect(readDraft(storage, "import-1", "new")).toBeNull();
    const full = {
      setItem: () => {
        throw new Error("no room");
      },
    };
    const draft = { format: 1 as const, mappingId: "new", base: null, form: answered() };
    expect(() => keepDraft(full, "import-1", draft)).not.toThrow();
  });
});

describe("figures for people", () => {
  it("are sizes in powers of ten and counts with their noun", () => {
    // IEC 80000-13: kilo is 1000, mega is 1 000 000.
    expect(formatBytes(0)).toBe("0 bytes");
    expect(formatBytes(999)).toBe("999 bytes");
    expect(formatBytes(1_250)).toBe("1.3 kB");
    expect(formatBytes(999_949)).toBe("999.9 kB");
    expect(formatBytes(999_950)).toBe("1.0 MB");
    expect(formatBytes(1_240_000)).toBe("1.2 MB");
    expect(countOf(1, ["row", "rows"])).toBe("1 row");
    expect(countOf(9_963, ["row", "rows"])).toBe("9,963 rows");
  });

  it("are fields in the trade's words", () => {
    expect(importFieldName("FL.standardEnergy")).toBe("FL standard's energy");
    expect(importFieldName("meterNumber")).toBe("Meter number");
  });
});
