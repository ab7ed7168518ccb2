import { circuitNames } from "@sealbook/contract/test-plans";
import { circuits } from "./circuits.ts";

/** What people call the fields of a type, by the pointer of each. */
export const fieldNames: Readonly<Record<string, string>> = {
  "/maker": "Maker",
  "/model": "Model",
  "/form": "Form",
  "/phases": "Phases",
  "/wires": "Wires",
  "/elements": "Elements",
  "/classAmperes": "Class (CL)",
  "/testAmperes": "Test amperes (TA)",
  "/voltsMin": "Lowest voltage",
  "/voltsMax": "Highest voltage",
  "/designVolts": "Design voltage",
  "/kh": "Kh",
  "/kt": "Kt",
  "/accuracyClass": "Accuracy class",
  "/technology": "Technology",
  "/registerDials": "Register digits",
  "/registerMultiplier": "Register multiplier",
  "/testPlanCode": "Test plan",
  "/retired": "Retired",
  "/reason": "Reason",
  ...Object.fromEntries(
    circuits.map((circuit) => [`/circuitFactors/${circuit}`, `Factor, ${circuitNames[circuit]}`]),
  ),
};
