import { expect, it } from "vitest";
import { changeText } from "./change-text.ts";

it("writes a change with its sign, and none where nothing changed", () => {
  expect(changeText(0.0124, 3)).toBe("+0.012");
  expect(changeText(-0.0031, 3)).toBe("−0.003");
  expect(changeText(-0.0001, 3)).toBe("0.000");
  expect(changeText(null, 3)).toBe("–");
});
