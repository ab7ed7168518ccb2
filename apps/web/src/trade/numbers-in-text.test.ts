import { expect, it } from "vitest";
import { numbersInText } from "./numbers-in-text.ts";

it("reads numbers however they are divided, keeps leading zeros and says nothing of doubles", () => {
  expect(numbersInText("0041\r\n0042; 0043,0044\t0045\n\n 0041 ")).toEqual([
    "0041",
    "0042",
    "0043",
    "0044",
    "0045",
    "0041",
  ]);
  expect(numbersInText("  \n")).toEqual([]);
});
