import { samplingCharacteristicNames } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { judgedOf, type SchemeDraft } from "./scheme-draft.ts";

const plainNames: Readonly<Record<string, string>> = {
  "/code": "Code",
  "/name": "Name",
  "/reason": "Reason",
  "/body/source": "Source",
  "/body/jurisdiction": "Rule profile",
  "/body/plan/level": "Inspection level",
  "/body/plan/aqlPercent": "AQL",
  "/body/characteristics": "What is judged",
  "/body/average/label": "Name of the average",
  "/body/average/weights": "Weights of the average",
  "/body/average/source": "Source of the average",
  "/body/untestable/reason": "Why it counts so",
  "/body/replacement/sparesPercent": "Spares",
  "/body/replacement/reasons": "Reasons for a spare",
  "/body/lotSize/min": "Least lot",
  "/body/lotSize/max": "Greatest lot",
  "/body/lotSize/standAloneFrom": "Stands apart from",
  "/body/grouping/years": "Year set",
  "/body/everyMonths": "Sampled every",
  "/body/limitNumbersDropped": "Limit numbers",
};

/** Names of the scheme form's fields by pointer; what is judged is named by its characteristic. */
export function schemeFieldNames(draft: SchemeDraft): Readonly<Record<string, string>> {
  const names: Record<string, string> = { ...plainNames };
  judgedOf(draft).forEach(({ characteristic }, place) => {
    const name = samplingCharacteristicNames[characteristic];
    const at = `/body/characteristics/${place}`;
    names[at] = name;
    names[`${at}/limits`] = `${name}, limits`;
    names[`${at}/limits/minPercent`] = `${name}, from`;
    names[`${at}/limits/maxPercent`] = `${name}, to`;
    names[`${at}/limits/source`] = `${name}, source of the limits`;
    names[`${at}/aqlPercent`] = `${name}, own AQL`;
  });
  return names;
}
