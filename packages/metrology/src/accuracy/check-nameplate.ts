import { electricalCount } from "../forms/electrical-count.ts";
import { findForm } from "../forms/find-form.ts";
import { Fraction } from "../fraction.ts";
import { requirePositive } from "../require-positive.ts";
import { amperes, volts } from "../units.ts";
import type { DecimalString } from "./test-terms.ts";
import { watthourConstantFromRating } from "./watthour-constant-from-rating.ts";

/** What a nameplate says, as decimal strings. Null where it says nothing. */
export interface Nameplate {
  form: string;
  /** 1, 2, 2.5 or 3. */
  elements: DecimalString | null;
  /** Nominal design voltage, to which the watthour constant belongs; > 0. */
  designVolts: DecimalString;
  /** TA; > 0. */
  testAmperes: DecimalString;
  /** Class: maximum amperes; > 0. */
  classAmperes: DecimalString | null;
  /** Wh per revolution; > 0. */
  kh: DecimalString;
  /** Wh per pulse of the test output; > 0. */
  kt: DecimalString | null;
}

/** Which line of the nameplate looks wrong. */
export type NameplateField = "form" | "elements" | "designVolts" | "testAmperes" | "kh";

/** One advisory finding. Nothing is refused for it: a nameplate may be right and unusual. */
export interface NameplateFinding {
  kind:
    | "form-not-known"
    | "elements-disagree"
    | "class-disagrees"
    | "constant-disagrees"
    | "pulse-constant-disagrees";
  /** The odd one, when exactly one line explains the finding; otherwise null. */
  oddOne: NameplateField | null;
  /** What each suspect would have to say to agree with the rest. */
  suspects: { field: NameplateField; shouldBe: string }[];
  /** A sentence for the person. */
  reason: string;
}

/** Usual test amperes by class. @source common practice, no source; class 200 with 30 A stands in a training sheet */
const usualTestAmperes: Record<string, DecimalString> = {
  "10": "2.5",
  "20": "2.5",
  "100": "15",
  "200": "30",
  "320": "50",
};

/** Usual rated voltages. @source common practice, no source */
const usualVolts: readonly DecimalString[] = ["120", "208", "240", "277", "347", "480", "600"];

/**
 * Does a nameplate agree with itself: form and elements, class and test amperes, design voltage, test amperes, elements
 * and Kh, and Kh with Kt? Advisory; solid-state wide-range meters keep the Kh of their nominal design voltage.
 *
 * @param nameplate  lines of the nameplate; numbers > 0
 * @returns findings, empty when nothing is odd
 * @throws RangeError if a number is no decimal or not greater than 0
 * @source watthourConstantFromRating, electricalCount; class and test amperes, and Kh a whole multiple of Kt, are common
 *   practice, no source
 * @example form 9S, 120 V, 2.5 A, Kh 1.8 // no finding
 */
export function checkNameplate(nameplate: Nameplate): NameplateFinding[] {
  requirePositive("Kh", Fraction.of(nameplate.kh));
  return [
    ...checkForm(nameplate),
    ...checkClass(nameplate),
    ...checkConstant(nameplate),
    ...checkPulseConstant(nameplate),
  ];
}

function checkForm({ form, elements }: Nameplate): NameplateFinding[] {
  const count = electricalCount(form);
  const row = findForm(form);
  if (row === null || count === null) {
    const reason = `Form ${form} is not known for sure; its elements and its constant cannot be checked.`;
    return [{ kind: "form-not-known", oddOne: null, suspects: [], reason }];
  }
  const expected = row.arrangement === "two-and-a-half-element-wye" ? "2.5" : count.count;
  if (elements === null || Fraction.of(elements).equals(expected)) {
    return [];
  }
  return [
    {
      kind: "elements-disagree",
      oddOne: null,
      suspects: [
        { field: "elements", shouldBe: expected },
        { field: "form", shouldBe: `one of ${elements} elements` },
      ],
      reason: `Form ${row.form} has ${expected} elements; the nameplate says ${elements}. One of the two is wrong.`,
    },
  ];
}

function usualAmperesOf({ classAmperes }: Nameplate): DecimalString | undefined {
  return classAmperes === null ? undefined : usualTestAmperes[Fraction.of(classAmperes).toText()];
}

function checkClass(nameplate: Nameplate): NameplateFinding[] {
  const { classAmperes, testAmperes } = nameplate;
  const usual = usualAmperesOf(nameplate);
  if (usual === undefined || Fraction.of(testAmperes).equals(usual)) {
    return [];
  }
  return [
    {
      kind: "class-disagrees",
      oddOne: "testAmperes",
      suspects: [{ field: "testAmperes", shouldBe: usual }],
      reason: `Class ${classAmperes} usually has test amperes of ${usual} A; the nameplate says ${testAmperes} A.`,
    },
  ];
}

/** The element counts that the nameplate relation knows. */
const arrangements = [
  { count: "1", polyphase: false, name: "one of one element" },
  { count: "2", polyphase: true, name: "one of two elements" },
  { count: "3", polyphase: true, name: "one of 2 1/2 or three elements" },
];

function checkConstant(nameplate: Nameplate): NameplateFinding[] {
  const count = electricalCount(nameplate.form);
  if (count === null) {
    return [];
  }
  const impliedBy = (designVolts: string, testAmperes: string, { count: elements, polyphase } = count) =>
    watthourConstantFromRating({
      volts: volts(designVolts),
      testAmperes: amperes(testAmperes),
      electricalCount: Fraction.of(elements),
      polyphase,
    });
  const { designVolts, testAmperes, kh } = nameplate;
  const implied = impliedBy(designVolts, testAmperes);
  if (implied.equals(kh)) {
    return [];
  }
  const usualCurrents = [...new Set(Object.values(usualTestAmperes))];
  const otherVolts = usualVolts.filter((usual) => impliedBy(usual, testAmperes).equals(kh));
  const otherAmperes = usualCurrents.filter((usual) => impliedBy(designVolts, usual).equals(kh));
  const otherCounts = arrangements.filter((other) => impliedBy(designVolts, testAmperes, other).equals(kh));
  const suspects: NameplateFinding["suspects"] = [
    { field: "kh", shouldBe: implied.toText() },
    ...otherCounts.map(({ name }) => ({ field: "form" as const, shouldBe: name })),
    ...otherVolts.map((usual) => ({ field: "designVolts" as const, shouldBe: usual })),
    ...otherAmperes.map((usual) => ({ field: "testAmperes" as const, shouldBe: usual })),
  ];
  return [
    {
      kind: "constant-disagrees",
      oddOne: oddOneOf(nameplate, suspects),
      suspects,
      reason:
        `Form ${nameplate.form}, ${designVolts} V and ${testAmperes} A give Kh ${implied.toText()}; ` +
        `the nameplate says ${kh}. To agree: ${suspects.map(suspectText).join(", or ")}.`,
    },
  ];
}

/**
 * The one line that explains a wrong constant. Test amperes that the class contradicts, or a form that the elements
 * contradict, is the odd one where mending it brings agreement, and so is a voltage that nobody uses. A line that
 * another confirms is taken as right. Where more than one explanation remains, a person must look.
 */
function oddOneOf(nameplate: Nameplate, suspects: NameplateFinding["suspects"]): NameplateField | null {
  const usualAmperes = usualAmperesOf(nameplate);
  const classContradicts = checkClass(nameplate).length > 0;
  const elementsContradict = checkForm(nameplate).length > 0;
  const isUsualVoltage = usualVolts.some((usual) => Fraction.of(usual).equals(nameplate.designVolts));
  const contradicted = suspects.find(
    ({ field, shouldBe }) =>
      (field === "testAmperes" && classContradicts && shouldBe === usualAmperes) ||
      (field === "form" && elementsContradict) ||
      (field === "designVolts" && !isUsualVoltage),
  );
  if (contradicted !== undefined) {
    return contradicted.field;
  }
  const confirmed = suspects.filter(
    ({ field }) =>
      (field === "testAmperes" && usualAmperes !== undefined && !classContradicts) ||
      (field === "form" && nameplate.elements !== null && !elementsContradict),
  );
  // The constant itself is always a suspect, so one that is left alone is the constant.
  return suspects.length - confirmed.length === 1 ? "kh" : null;
}

const fieldWords: Record<NameplateField, string> = {
  form: "form",
  elements: "elements",
  designVolts: "design voltage",
  testAmperes: "test amperes",
  kh: "Kh",
};

function suspectText({ field, shouldBe }: { field: NameplateField; shouldBe: string }): string {
  return `${fieldWords[field]} ${shouldBe}`;
}

function checkPulseConstant({ kh, kt }: Nameplate): NameplateFinding[] {
  if (kt === null) {
    return [];
  }
  const energyPerPulse = Fraction.of(kt);
  requirePositive("Kt", energyPerPulse);
  const pulses = Fraction.of(kh).dividedBy(energyPerPulse);
  if (pulses.denominator === 1n) {
    return [];
  }
  return [
    {
      kind: "pulse-constant-disagrees",
      oddOne: null,
      suspects: [],
      reason: `Kh ${kh} is usually a whole multiple of Kt; ${kh} / ${kt} is ${pulses.toText(6)}.`,
    },
  ];
}
