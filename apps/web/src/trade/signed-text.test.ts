import { expect, it } from "vitest";
import { signedText } from "./signed-text.ts";

// ISO 80000-2:2019 writes the sign of a negative number as a minus, U+2212, not as a hyphen (from memory).
it("writes the sign of an error before it, none before zero", () => {
  expect(signedText("0.173")).toBe("+0.173");
  expect(signedText("-1.506")).toBe("\u22121.506");
  expect(signedText("0.000")).toBe("0.000");
});
