import { averageRegistration } from "../../accuracy/average-registration.ts";
import { Fraction } from "../../fraction.ts";
import { percentRegistration } from "../../units.ts";
import type { CharacteristicReading } from "./lot-evaluation-schema.ts";
import type { SampledPlace } from "./sampled-place.ts";
import type { JudgedCharacteristic, SamplingScheme } from "./sampling-scheme.ts";

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
          : (outcome.readings[judged.characteristic] ?? null);
      if (value === null || judged.limits === null) return { ...none, result: "not-measured" };
      const registration = Fraction.of(value);
      const conforming =
        !registration.isLessThan(judged.limits.minPercent) &&
        !registration.isGreaterThan(judged.limits.maxPercent);
      return { place, meter, result: "reading", value, conforming };
    }
  }
}

function averageOf(
  { average: rule }: Pick<SamplingScheme, "average">,
  { readings, average }: Extract<SampledPlace["outcome"], { kind: "tested" }>,
): string | null {
  if (rule === null) return average;
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
  return found.kind === "average" ? found.registration.toDecimal().toFixed() : null;
}
