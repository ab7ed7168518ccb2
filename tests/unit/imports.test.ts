import { readDateTime } from "@sealbook/api/modules/imports/read-date-time";
import { readDecimal } from "@sealbook/api/modules/imports/read-decimal";
import { type FileRecord, readRecords, type Separator } from "@sealbook/api/modules/imports/read-records";
import { guardFormula, stripFormulaGuard } from "@sealbook/api/platform/formula-guard";
import { instantOfWallTime } from "@sealbook/metrology/calendar/instant-of-wall-time";
import fc from "fast-check";
import { describe, expect, it } from "vitest";

async function* inPieces(text: string, length: number): AsyncGenerator<Uint8Array> {
  const bytes = Buffer.from(text);
  for (let from = 0; from < bytes.length; from += length) yield bytes.subarray(from, from + length);
}

async function read(text: string, separator: Separator = ",", length = 65_536): Promise<FileRecord[]> {
  const records: FileRecord[] = [];
  for await (const record of readRecords(inPieces(text, length), separator)) records.push(record);
  return records;
}

/** RFC 4180 section 2: cells with separators, quotes or line ends are quoted, quotes inside doubled. */
const written = (cell: string, separator: string) =>
  cell.includes(separator) || /["\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;

describe("readRecords", () => {
  const cell = fc.string({
    unit: fc.constantFrom("a", "é", "7", " ", ",", ";", '"', "\r", "\n", "\t", "😀"),
    maxLength: 8,
  });

  it("gives back every table that RFC 4180 can write, wherever the stream is cut", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc
          .integer({ min: 2, max: 4 })
          .chain((width) =>
            fc.array(fc.array(cell, { minLength: width, maxLength: width }), { minLength: 1, maxLength: 6 }),
          ),
        fc.constantFrom<Separator>(",", ";", "\t", "|"),
        fc.constantFrom("\r\n", "\n", "\r"),
        fc.constantFrom("", "\uFEFF"),
        fc.integer({ min: 1, max: 20 }),
        async (rows, separator, ending, mark, length) => {
          // What a spreadsheet guard would look like is taken off on reading: that is another test.
          fc.pre(rows.every((row) => row.every((text) => stripFormulaGuard(text) === text)));
          const text =
            mark + rows.map((row) => row.map((one) => written(one, separator)).join(separator)).join(ending);
          const records = await read(text, separator, length);
          expect(records.map(({ fault }) => fault)).toEqual(rows.map(() => null));
          expect(records.map(({ fields }) => fields)).toEqual(rows);
          expect(records.map(({ number }) => number)).toEqual(rows.map((_, index) => index + 1));
        },
      ),
    );
  });

  it("loses no good row to a stray quote, wherever in the file it stands", async () => {
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: 1, max: 29 }),
        fc.integer({ min: 0, max: 9 }),
        fc.boolean(),
        async (row, at, another) => {
          const rows = Array.from({ length: 30 }, (_, index) => `meter${index},99.${index},x`);
          const spoil = (line: string) => `${line.slice(0, at)}"${line.slice(at)}`;
          const spoilt = new Set([row, ...(another ? [(row + 7) % 29 || 1] : [])]);
          const text = rows.map((line, index) => (spoilt.has(index) ? spoil(line) : line)).join("\n");
          const records = await read(text);
          expect(records).toHaveLength(30);
          for (const [index, record] of records.entries()) {
            if (spoilt.has(index)) expect(record.fault?.code).toBe("quote-misplaced");
            else expect(record.fields).toEqual(rows[index]?.split(","));
          }
        },
      ),
    );
  });

  it("sets a row of absurd length aside and reads on", async () => {
    const records = await read(`a,b\n${"x".repeat(70_000)},1\n2,3\n`);
    expect(records.map(({ fault }) => fault?.code ?? null)).toEqual([null, "row-too-long", null]);
  });
});

describe("guardFormula", () => {
  it("is taken off again by stripFormulaGuard, whatever the text", () => {
    fc.assert(
      fc.property(
        fc.string({
          unit: fc.constantFrom("'", "=", "+", "-", "@", "\t", "\r", "1", ".", "a"),
          maxLength: 6,
        }),
        (text) => {
          expect(stripFormulaGuard(guardFormula(text))).toBe(
            // A text that is a plain number goes out as it is; one that carries a mark already gets a second.
            text,
          );
        },
      ),
    );
  });

  it("leaves no text that a spreadsheet would run", () => {
    // OWASP, CSV Injection: cells that begin with = + - @, tab or return.
    for (const text of ["=1", "+a", "-a", "@a", "\ta", "\ra"]) expect(guardFormula(text)).toBe(`'${text}`);
    for (const text of ["-5", "+0.31", "-0,205", "12"]) expect(guardFormula(text)).toBe(text);
  });
});

describe("instantOfWallTime", () => {
  const at = (text: string, zone: string) => {
    const [year = 0, month = 0, day = 0, hour = 0, minute = 0] = text.split(/\D/).map(Number);
    const found = instantOfWallTime({ year, month, day, hour, minute, second: 0, millisecond: 0 }, zone);
    if (found.kind === "instant") return found.at.toISOString();
    return found.kind === "ambiguous" ? [found.first.toISOString(), found.second.toISOString()] : found.kind;
  };

  // Offsets and changes as the tz database has them (files northamerica, europe, australasia, asia), from memory.
  it("knows offsets east and west, whole and broken", () => {
    expect(at("2026-01-15 12:00", "UTC")).toBe("2026-01-15T12:00:00.000Z");
    expect(at("2026-01-15 12:00", "America/New_York")).toBe("2026-01-15T17:00:00.000Z");
    expect(at("2026-07-15 12:00", "America/New_York")).toBe("2026-07-15T16:00:00.000Z");
    expect(at("2026-01-15 00:10", "Asia/Kathmandu")).toBe("2026-01-14T18:25:00.000Z");
    expect(at("2026-01-15 12:00", "Pacific/Kiritimati")).toBe("2026-01-14T22:00:00.000Z");
  });

  it("says where clocks went over a time, or over it twice", () => {
    expect(at("2026-03-29 02:30", "Europe/Berlin")).toBe("nonexistent");
    expect(at("2026-03-29 01:59", "Europe/Berlin")).toBe("2026-03-29T00:59:00.000Z");
    expect(at("2026-03-29 03:00", "Europe/Berlin")).toBe("2026-03-29T01:00:00.000Z");
    expect(at("2026-10-25 02:30", "Europe/Berlin")).toEqual([
      "2026-10-25T00:30:00.000Z",
      "2026-10-25T01:30:00.000Z",
    ]);
    expect(at("2026-10-25 03:00", "Europe/Berlin")).toBe("2026-10-25T02:00:00.000Z");
    // Half an hour on Lord Howe Island, a whole day in Samoa.
    expect(at("2026-10-04 02:15", "Australia/Lord_Howe")).toBe("nonexistent");
    expect(at("2011-12-30 12:00", "Pacific/Apia")).toBe("nonexistent");
    expect(at("2011-12-31 12:00", "Pacific/Apia")).toBe("2011-12-30T22:00:00.000Z");
  });

  it("is undone by showing the instant in its zone", () => {
    const zones = [
      "America/New_York",
      "Europe/Lisbon",
      "Asia/Kolkata",
      "Australia/Lord_Howe",
      "Pacific/Apia",
    ];
    fc.assert(
      fc.property(
        fc.integer({ min: 631_152_000, max: 1_900_000_000 }),
        fc.constantFrom(...zones),
        (seconds, timeZone) => {
          const instant = new Date(seconds * 1000);
          const shown = new Intl.DateTimeFormat("sv-SE", {
            timeZone,
            dateStyle: "short",
            timeStyle: "medium",
          }).format(instant);
          const [year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0] = shown
            .split(/\D/)
            .map(Number);
          const found = instantOfWallTime(
            { year, month, day, hour, minute, second, millisecond: 0 },
            timeZone,
          );
          const candidates =
            found.kind === "instant"
              ? [found.at]
              : found.kind === "ambiguous"
                ? [found.first, found.second]
                : [];
          expect(candidates.map((one) => one.getTime())).toContain(instant.getTime());
        },
      ),
    );
  });
});

describe("readDateTime", () => {
  it("takes an offset before the zone, and refuses impossible ones", () => {
    const found = (text: string) => {
      const date = readDateTime(text, "iso", "America/New_York");
      return date.kind === "instant" ? date.at.toISOString() : date.code;
    };
    expect(found("2026-07-15T12:00+05:30")).toBe("2026-07-15T06:30:00.000Z");
    expect(found("2026-07-15 12:00:00.25 -0330")).toBe("2026-07-15T15:30:00.250Z");
    expect(found("2026-07-15T12:00Z")).toBe("2026-07-15T12:00:00.000Z");
    expect(found("2026-07-15T12:00+25:00")).toBe("bad-date");
    expect(found("2026-07-15")).toBe("time-missing");
    expect(found("2026-07-15 24:00")).toBe("bad-date");
    expect(found("2026-07-15 13:00 PM")).toBe("bad-date");
    expect(found("2026-07-15 12:05 AM")).toBe("2026-07-15T04:05:00.000Z");
  });
});

describe("readDecimal", () => {
  it("changes nothing but the mark, and guesses nothing", () => {
    const read = (text: string, mark: "." | "," = ".") => readDecimal(text, mark);
    expect(read(" 100.040 ")).toBe("100.040");
    expect(read("+0,31", ",")).toBe("0.31");
    expect(read("-.5")).toBe("-0.5");
    for (const text of ["1,5", "1e3", "1.", "", "-", "0x10", "1 000", "1,000.5", "NaN", "1234567890123456"]) {
      expect(read(text), text).toBeNull();
    }
    expect(read("1.5", ",")).toBeNull();
  });
});
