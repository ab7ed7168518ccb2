import { dateAfter } from "@sealbook/metrology/calendar/date-after";
import {
  type SamplingScheme,
  samplingSchemeSchema,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { shippedSchemes } from "@sealbook/metrology/sampling/schemes/shipped-schemes";
import { instantAfter, weekday } from "./days.ts";
import type { DemoMeter, TrueRegistration } from "./meters.ts";
import type { Random } from "./random.ts";

/** A shipment of the demo shop, on its way from the maker's list to stock, back, or into its tests. */
export interface DemoShipment {
  id: string;
  number: string;
  typeIndex: number;
  contract: string;
  purchaseOrder: string;
  receivedOn: string;
  seed: string;
  meters: readonly DemoMeter[];
  /** How far it has come: released, sent back, or half of its sample tested. */
  end: "released" | "returned" | "being-tested";
}

/** A year's sample of the groups in service. */
export interface DemoProgramme {
  id: string;
  name: string;
  formedOn: string;
  seed: string;
  dueOn: string;
  /** Days on which a third of the places each are tested; a group that is decided has three. */
  testedOn: readonly string[];
  /** When the groups were decided; null while they are being tested. */
  decidedOn: string | null;
}

export interface DemoSampling {
  schemes: readonly { id: string; code: string; name: string; body: SamplingScheme }[];
  shipments: readonly DemoShipment[];
  programmes: readonly DemoProgramme[];
}

const limits = { minPercent: "98", maxPercent: "102", source: "common practice, no source" };

/** The house scheme for groups in service: full and light load apart, by variables. */
const groupsByVariables: SamplingScheme = {
  format: 1,
  purpose: "in-service",
  jurisdiction: null,
  source: "House scheme under 04 NCAC 11 R08-13(b), after ANSI/ASQ Z1.9; levels and AQL are the house's own",
  plan: { kind: "variables", edition: "ANSI/ASQ Z1.9", form: 2, level: "II", aqlPercent: "2.5" },
  characteristics: [
    { characteristic: "full-load", limits, aqlPercent: null },
    { characteristic: "light-load", limits, aqlPercent: null },
  ],
  average: null,
  untestable: {
    counts: "nonconforming",
    reason: "House rule: a meter that registers nothing is not within limits",
  },
  replacement: {
    allowed: true,
    sparesPercent: 20,
    reasons: ["no-access", "customer-refused", "unsafe", "moved", "retired"],
  },
  lotSize: { min: 50, max: 500, standAloneFrom: null },
  grouping: { years: null, firmware: false, area: false, merge: "same-form" },
  everyMonths: 12,
  switching: true,
  limitNumbersDropped: false,
  notes: ["The switching text of Z1.9 was not read: a person directs the severity."],
};

/** Schemes, shipments and programmes up to a day. */
export function demoSampling(random: Random, today: string): DemoSampling {
  const opened = instantAfter(today, -500);
  const house = shippedSchemes.find(({ key }) => key === "house-shipment");
  if (house === undefined) throw new RangeError("the house scheme for shipments comes with the product");
  const shipment = (
    daysAgo: number,
    over: Pick<DemoShipment, "number" | "typeIndex" | "contract" | "purchaseOrder" | "seed" | "end"> & {
      count: number;
      fullLoad: number;
    },
  ): DemoShipment => {
    const receivedOn = weekday(dateAfter(today, -daysAgo));
    const { count, fullLoad, ...fields } = over;
    return {
      ...fields,
      id: random.id(instantAfter(receivedOn, 0)),
      receivedOn,
      meters: Array.from({ length: count }, (_, place) =>
        newMeter(random, receivedOn, fields.typeIndex, fields.number, place, fullLoad),
      ),
    };
  };
  const programme = (daysAgo: number, name: string, seed: string, decided: boolean): DemoProgramme => {
    const day = (days: number) => weekday(dateAfter(today, days - daysAgo));
    return {
      id: random.id(instantAfter(day(0), 0)),
      name,
      formedOn: day(0),
      seed,
      dueOn: day(150),
      testedOn: decided ? [day(12), day(19), day(33)] : [day(12), day(19)],
      decidedOn: decided ? day(47) : null,
    };
  };
  return {
    schemes: [
      {
        id: random.id(opened),
        code: "HOUSE-SHIPMENT",
        name: "New shipments, house scheme",
        body: samplingSchemeSchema.parse(house.body),
      },
      {
        id: random.id(opened),
        code: "HOUSE-GROUPS",
        name: "Groups in service, house scheme",
        body: groupsByVariables,
      },
    ],
    shipments: [
      shipment(211, {
        number: "SH-0417",
        typeIndex: 3,
        contract: "FW-88",
        purchaseOrder: "PO-20417",
        seed: "5 2 6 1 4 4 3 6",
        end: "returned",
        count: 90,
        fullLoad: 2.2,
      }),
      shipment(96, {
        number: "SH-0423",
        typeIndex: 3,
        contract: "FW-88",
        purchaseOrder: "PO-20423",
        seed: "1 3 3 6 2 5 4 1",
        end: "released",
        count: 120,
        fullLoad: 0.03,
      }),
      shipment(9, {
        number: "SH-0431",
        typeIndex: 3,
        contract: "FW-88",
        purchaseOrder: "PO-20431",
        seed: "6 6 2 4 1 5 3 2",
        end: "being-tested",
        count: 150,
        fullLoad: 0.02,
      }),
    ],
    programmes: [
      programme(403, "Groups of last year", "3 5 1 1 6 2 4 4 2 6", true),
      programme(36, "Groups of this year", "2 4 4 6 1 3 5 3 6 1", false),
    ],
  };
}

function newMeter(
  random: Random,
  receivedOn: string,
  typeIndex: number,
  shipment: string,
  place: number,
  fullLoad: number,
): DemoMeter {
  const truth: TrueRegistration = {
    fullLoad: fullLoad + random.normal() * 0.06,
    lightLoadOffset: random.normal() * 0.05,
    powerFactorOffset: random.normal() * 0.04,
    driftPerYear: 0,
    fault: "none",
  };
  const serial = `${shipment.slice(-4)}${String(place + 1).padStart(5, "0")}`;
  return {
    id: random.id(instantAfter(receivedOn, 0)),
    typeIndex,
    utilityNumber: `009${serial.slice(-8)}`,
    serial: `CV${receivedOn.slice(2, 4)}${serial}`,
    owner: "utility",
    firmware: "4.2.1",
    program: "RES-2",
    purchasedOn: receivedOn,
    state: "received",
    placeId: "",
    events: [],
    truth,
  };
}
