import { averageRegistration } from "../../accuracy/average-registration.ts";
import { Fraction } from "../../fraction.ts";
import { percentRegistration } from "../../units.ts";
import type { CharacteristicReading } from "./lot-evaluation-schema.ts";
import type { SampledPlace } from "./sampled-place.ts";
import type { JudgedCharacteristic, SamplingScheme } from "./sampling-scheme.ts";

/** A quotient that does not end is kept to this many significant digits; it is judged before that, as it is. */
const printedDigits = 30;

/**
 * What one place of the sample says of one characteristic. A registration on a limit conforms; nothing is rounded.
 *
 * @param scheme how an average is made and how an untestable meter counts
 * @param judged the characteristic with its limits
 * @param sampled the place
 * @returns the reading; a tested meter without the load in question is "not-measured"
 */
export function readingOf(
  scheme: Pick<SamplingScheme, "average" | "untestable">,
  judged: JudgedCharacteristic,
  { place, meter, outcome }: SampledPlace,
): CharacteristicReading {
  const none = { place, meter, value: null, conforming: null };
  switch (outcome.kind) {
    case "waiting":
      return { ...none, result: "waiting" };
    case "left-out":
      return { ...none, result: "left-out" };
    case "untestable":
      return scheme.untestable.counts === "left-out"
        ? { ...none, result: "left-out" }
        : { ...none, result: "untestable", conforming: false };
    case "tested": {
      if (judged.characteristic === "verdict") {
        return outcome.verdict === "incomplete"
          ? { ...none, result: "not-measured" }
          : { ...none, result: "verdict", conforming: outcome.verdict === "pass" };
      }
      const value =
        judged.characteristic === "average"
          ? averageOf(scheme, outcome)
          : readingAt(outcome.readings[judged.characteristic]);
      if (value === null || judged.limits === null) return { ...none, result: "not-measured" };
      const conforming =
        !value.isLessThan(judged.limits.minPercent) && !value.isGreaterThan(judged.limits.maxPercent);
      return { place, meter, result: "reading", value: value.toText(printedDigits), conforming };
    }
  }
}

function averageOf(
  { average: rule }: Pick<SamplingScheme, "average">,
  { readings, average }: Extract<SampledPlace["outcome"], { kind: "tested" }>,
): Fraction | null {
  if (rule === null) return readingAt(average);
  const found = averageRegistration(rule, {
    ...(readings["full-load"] === undefined
      ? {}
      : { "full-load": percentRegistration(readings["full-load"]) }),
    ...(readings["light-load"] === undefined
      ? {}
      : { "light-load": percentRegistration(readings["light-load"]) }),
    ...(readings["power-factor"] === undefined
      ? {}
      : { "power-factor": percentRegistration(readings["power-factor"]) }),
  });
  return found.kind === "average" ? found.registration : null;
}

function readingAt(text: string | null | undefined): Fraction | null {
  return text === null || text === undefined ? null : Fraction.of(text);
}
