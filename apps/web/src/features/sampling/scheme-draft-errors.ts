import type { PlacedError } from "../../api/use-submission.ts";
import { judgedOf, type SchemeDraft } from "./scheme-draft.ts";

const decimal = /^\d{1,6}(\.\d{1,9})?$/;
const whole = /^\d{1,9}$/;

/**
 * What is wrong with the numbers and lines of a scheme's form, in sentences; the rules among them are the contract's.
 *
 * @param draft the form
 * @returns each error with the pointer into the operation's body
 */
export function schemeDraftErrors(draft: SchemeDraft): PlacedError[] {
  const errors: PlacedError[] = [];
  const say = (pointer: string, detail: string) => errors.push({ pointer: `/body${pointer}`, detail });
  const needLine = (pointer: string, text: string) => {
    if (text.trim() === "") say(pointer, "This is needed.");
  };
  const needDecimal = (pointer: string, text: string) => {
    if (!decimal.test(text)) say(pointer, "Write a number such as 2.5.");
  };
  const needWhole = (pointer: string, text: string, isOptional: boolean) => {
    if (!(isOptional && text.trim() === "") && !whole.test(text.trim()))
      say(pointer, "Write a whole number.");
  };

  needLine("/source", draft.source);
  if (draft.planKind !== "plan-table") {
    needLine("/plan/level", draft.level);
    needDecimal("/plan/aqlPercent", draft.aqlPercent);
  }
  const judged = judgedOf(draft);
  if (judged.length === 0) say("/characteristics", "Judge one characteristic at least.");
  judged.forEach((one, place) => {
    if (one.aqlPercent !== "") needDecimal(`/characteristics/${place}/aqlPercent`, one.aqlPercent);
    if (one.characteristic === "verdict") return;
    needDecimal(`/characteristics/${place}/limits/minPercent`, one.minPercent);
    needDecimal(`/characteristics/${place}/limits/maxPercent`, one.maxPercent);
    needLine(`/characteristics/${place}/limits/source`, one.source);
  });
  if (draft.hasAverage) {
    needLine("/average/label", draft.averageLabel);
    needLine("/average/source", draft.averageSource);
    const weights = Object.values(draft.averageWeights).filter((weight) => weight !== "");
    if (weights.length === 0) say("/average/weights", "Give one weight at least.");
    else if (weights.some((weight) => !decimal.test(weight))) {
      say("/average/weights", "Write weights as numbers such as 4.");
    }
  }
  needLine("/untestable/reason", draft.untestableReason);
  if (draft.replacementAllowed) needWhole("/replacement/sparesPercent", draft.sparesPercent, false);
  needWhole("/lotSize/min", draft.lotMin, false);
  needWhole("/lotSize/max", draft.lotMax, true);
  needWhole("/lotSize/standAloneFrom", draft.standAloneFrom, true);
  if (draft.purpose === "in-service") needWhole("/grouping/years", draft.groupYears, true);
  needWhole("/everyMonths", draft.everyMonths, true);
  return errors;
}
