import { describe, expect, it } from "vitest";
import { numberAfter, receiptLines, trayLines } from "./tray-lines.ts";

describe("a tray", () => {
  it("is read however its numbers are divided", () => {
    expect(trayLines("001\r\n002;003, 004|005\t006 007\n", false).map(({ number }) => number)).toEqual([
      ...["001", "002", "003", "004", "005", "006", "007"],
    ]);
  });

  it("has a reading beside each number where meters are removed", () => {
    expect(trayLines("001\t450\n\n002; 77.5\n003", true)).toEqual([
      { number: "001", registerReading: "450", readingNote: null },
      { number: "002", registerReading: "77.5", readingNote: null },
      { number: "003", registerReading: null, readingNote: null },
    ]);
  });
});

describe("a receipt", () => {
  it("takes serials with their numbers, and numbers those that have none in a row", () => {
    expect(receiptLines("A1, 0500\nA2\nA3\tX-7\nA4", "0998")).toEqual({
      kind: "lines",
      lines: [
        { serial: "A1", utilityNumber: "0500" },
        { serial: "A2", utilityNumber: "0998" },
        { serial: "A3", utilityNumber: "X-7" },
        { serial: "A4", utilityNumber: "0999" },
      ],
    });
  });

  it("names the first line that has no number", () => {
    expect(receiptLines("A1 1\nA2", "")).toEqual({ kind: "no-number", line: 2, serial: "A2" });
    expect(receiptLines("A1\nA2", "LAST")).toEqual({ kind: "no-number", line: 2, serial: "A2" });
  });

  it("counts up in the width that the number has", () => {
    expect(["00300009", "M-99", "009", "99"].map(numberAfter)).toEqual(["00300010", "M-100", "010", "100"]);
  });
});
