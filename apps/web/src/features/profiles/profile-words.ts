import { occasionNames } from "@sealbook/contract/test-plans";
import type { RuleProfile } from "@sealbook/metrology/profiles/profile-schema";

/** Words for the values of a profile. */
export const limitedNames: Record<RuleProfile["limits"][number]["of"], string> = {
  average: "Average",
  "full-load": "Full load",
  "light-load": "Light load",
  "power-factor": "Power factor",
};

export const judgedNames: Record<RuleProfile["judged"][number], string> = {
  points: "each point",
  average: "the average",
  creep: "creep",
  "starting-load": "the starting load",
  demand: "demand",
};

export const phaseNames: Record<RuleProfile["averages"][number]["phases"], string> = {
  any: "any meter",
  "single-phase": "single-phase meters",
  polyphase: "polyphase meters",
};

/** How a measured value is held against its limits. */
export function decisionRuleWords(rule: RuleProfile["decisionRule"]): string {
  switch (rule.kind) {
    case "simple":
      return "Simple acceptance: a value on the limit or within it passes.";
    case "guard-band":
      return `Guard band: accepted only within limits drawn in by ${rule.uncertaintyMultiple} times the expanded uncertainty.`;
    case "false-accept":
      return `Accepted only if the probability of false accept is at most ${rule.maxProbability}.`;
  }
}

/** When a meter counts as creeping. */
export function creepWords(creep: RuleProfile["creep"]): string {
  if (creep === null) return "Not judged: the text read says nothing of creep.";
  switch (creep.definition.kind) {
    case "turn-within":
      return `A meter that makes a whole turn within ${creep.definition.seconds} s, load wires disconnected, creeps and fails.`;
    case "registers-at-no-load":
      return `A meter that registers at no load below ${creep.definition.belowPercentOfVoltage} % of the standard service voltage creeps and fails.`;
    case "not-defined":
      return "A meter that creeps fails; the rule does not define creep.";
  }
}

/** At which current a meter must start. */
export function startingLoadWords(rule: RuleProfile["startingLoad"]): string {
  if (rule === undefined) return "The text read says nothing of a starting load.";
  const currents = rule.currents.map(
    ({ connection, accuracyClass, percentOfReferenceCurrent }) =>
      `class ${accuracyClass} ${connection === "direct" ? "connected directly" : "through transformers"}, ${percentOfReferenceCurrent} %`,
  );
  const on = rule.occasions.map((occasion) => occasionNames[occasion].toLowerCase()).join(", ");
  return `Starts at power factor ${rule.powerFactor} and these percents of the reference current (${on}): ${currents.join("; ")}.`;
}

/** The largest errors of demand and where they hold. */
export function demandWords(rules: RuleProfile["demand"]): string {
  if (rules === undefined) return "The text read gives no limits of demand.";
  return rules
    .map(({ basis, appliesTo, maxErrorPercent, fromPercent, toPercent }) =>
      basis === "full-scale"
        ? `At most ${maxErrorPercent} % of full scale, from ${fromPercent} % to ${toPercent} % of full scale (${appliesTo}).`
        : `At most ${maxErrorPercent} % of reading, from ${fromPercent} % to ${toPercent} % of test amperes (${appliesTo}).`,
    )
    .join(" ");
}

/** A span of months as people say it. */
export function monthsWords(months: number): string {
  if (months % 12 !== 0) return `${months} months`;
  const years = months / 12;
  return years === 1 ? "1 year" : `${years} years`;
}

const fieldNames: Readonly<Record<string, string>> = {
  accuracyClass: "accuracy class",
  appliesTo: "applies to",
  aqlPercent: "AQL in percent",
  averages: "averages",
  billAdjustment: "bill adjustment",
  constantLoad: "constant load",
  dateRead: "date read",
  decisionRule: "decision rule",
  everyMonths: "every (months)",
  gaps: "what was not read",
  howRead: "how it was read",
  judgedOn: "judged on",
  lotMax: "greatest lot",
  lotMin: "least lot",
  maxErrorPercent: "greatest error in percent",
  maxPercent: "to percent",
  minPercent: "from percent",
  outsideCertifiedRange: "outside the certified range",
  places: "decimals",
  powerFactor: "power factor",
  reportBands: "bands of the yearly report",
  startingLoad: "starting load",
  thresholdPercent: "threshold in percent",
};

/** A step of a place in a profile's document, as people read it. */
export function fieldWords(step: string): string {
  return fieldNames[step] ?? step.replace(/^([a-z]+)([A-Z][a-zA-Z]*)$/, (whole) => spaced(whole));
}

function spaced(name: string): string {
  return name.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}
