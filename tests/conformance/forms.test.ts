import { ansiForms } from "@sealbook/metrology/forms/ansi-forms";
import { findForm } from "@sealbook/metrology/forms/find-form";
import { describe, expect, it } from "vitest";

// Service and rating of these forms are published; everything else of the table is common practice, no source.
const list = "outdoorsiness.com/2024/02/18/understanding-electric-meter-forms and userz.net form list";

describe("ANSI forms", () => {
  it.each([
    ["1S", "self-contained"],
    ["2S", "self-contained"],
    ["12S", "self-contained"],
    ["16S", "self-contained"],
    ["3S", "transformer-rated"],
    ["5S", "transformer-rated"],
    ["6S", "transformer-rated"],
    ["9S", "transformer-rated"],
  ] as const)(`${list}: %s is %s`, (form, rating) => {
    expect(findForm(form)?.rating).toBe(rating);
  });

  it.each([
    ["1S", "2"],
    ["2S", "3"],
    ["4S", "3"],
    ["5S", "3"],
    ["9S", "4"],
  ] as const)(`${list}: %s has %s wires`, (form, wires) => {
    expect(findForm(form)?.wires).toBe(wires);
  });

  it("Blondel's theorem (a1cr.net/elec_pwr_3e_31.html): fewer elements than wires less one only where the form is known to", () => {
    // Single-phase three-wire forms, 2 1/2-element wye forms and two-element four-wire delta forms trade elements for
    // assumptions about the voltages.
    const fewer = ansiForms
      .filter(({ wires, elements }) => wires !== null && /^\d$/.test(wires) && elements < Number(wires) - 1)
      .map(({ form }) => form);
    expect(fewer).toEqual(["2S", "4S", "6S", "7S", "8S", "14S", "15S", "29S", "36S", "46S", "48S"]);
  });
});
