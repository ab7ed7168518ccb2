import type { Pull } from "@sealbook/contract/groups";
import { expect, it } from "vitest";
import { pullsByArea } from "./pulls-by-area.ts";

const pull = (utilityNumber: string, area: string | null) => ({ utilityNumber, area }) as Pull;

it("divides a list by area in its own order and loses nobody", () => {
  const areas = pullsByArea([pull("1", "East"), pull("2", "East"), pull("3", "Hill"), pull("4", null)]);
  expect(areas.map((one) => [one.area, one.pulls.map((row) => row.utilityNumber)])).toEqual([
    ["East", ["1", "2"]],
    ["Hill", ["3"]],
    ["", ["4"]],
  ]);
  expect(pullsByArea([])).toEqual([]);
});
