import { meterStateNames } from "@sealbook/contract/meters";
import type { FoundMeter, FoundServicePoint } from "@sealbook/contract/search";
import { paths } from "../paths.ts";

/** One line of what the find box offers, and where it leads. */
export interface FindOption {
  readonly id: string;
  readonly name: string;
  readonly note: string;
  readonly to: string;
  readonly search?: Record<string, string>;
}

export interface FindGroup {
  readonly title: string;
  readonly options: readonly FindOption[];
}

/** What the book holds of the typed text, as lines to choose from; groups without any are left out. */
export function findGroups(found: {
  meters: readonly FoundMeter[];
  servicePoints: readonly FoundServicePoint[];
}): FindGroup[] {
  return [
    { title: "Meters", options: found.meters.map(meterOption) },
    { title: "Service points", options: found.servicePoints.map(pointOption) },
  ].filter(({ options }) => options.length > 0);
}

function meterOption(meter: FoundMeter): FindOption {
  return {
    id: `find-${meter.id}`,
    name: meter.utilityNumber,
    note: `serial ${meter.serial}, ${meter.maker} ${meter.model} ${meter.form}, ${meterStateNames[meter.state].toLowerCase()}, ${meter.place}`,
    to: paths.meter(meter.id),
  };
}

/** A service point leads to its meter; where there is none or there are several, to the list of what stands there. */
function pointOption(point: FoundServicePoint): FindOption {
  const only = point.meters.length === 1 ? point.meters[0] : undefined;
  const numbers = point.meters.map(({ utilityNumber }) => utilityNumber).join(", ");
  const there = numbers === "" ? "no meter" : `meter ${numbers}`;
  const line = {
    id: `find-${point.id}`,
    name: point.number,
    note: `${point.address}, ${point.area}, ${there}`,
  };
  return only === undefined
    ? { ...line, to: paths.meters(), search: { placeId: point.id } }
    : { ...line, to: paths.meter(only.id) };
}
