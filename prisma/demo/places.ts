import type { Place } from "@sealbook/contract/places";
import type { ServicePoint } from "@sealbook/contract/service-points";
import { type Random, seededRandom } from "./random.ts";

/** The utility's own places and its customers' service points, all invented. */

type PlaceInside = Place & { parentId: string };

export interface DemoPlaces {
  shop: Place;
  /** The store room in which the two shelves stand. */
  room: PlaceInside;
  store: PlaceInside;
  cage: PlaceInside;
  vans: readonly Place[];
  servicePoints: readonly ServicePoint[];
}

const areas = [
  { name: "Harrow Fen", jurisdiction: "us-nc" },
  { name: "Lower Quill", jurisdiction: "us-nc" },
  { name: "Ostler Hill", jurisdiction: "us-nc" },
  { name: "Saltmarsh", jurisdiction: "us-nc" },
  { name: "Tarnside", jurisdiction: "us-pa" },
] as const;

const streets = [
  "Alder Row",
  "Bellmaker Lane",
  "Coppice Road",
  "Drover Street",
  "Eelgate",
  "Fuller Walk",
  "Gannet Close",
  "Hawthorn Rise",
  "Ironmonger Court",
  "Juniper Way",
  "Kiln Bank",
  "Lockhouse Road",
  "Mallow Street",
  "Netherfold",
  "Orchard Terrace",
  "Plover Lane",
] as const;

export function demoPlaces(random: Random, opened: Date, servicePoints: number): DemoPlaces {
  const place = (kind: Place["kind"], name: string): Place => ({ id: random.id(opened), kind, name });
  const shop = place("shop", "Tarn Street meter shop");
  const room = {
    id: seededRandom(1).id(opened),
    kind: "store" as const,
    name: "Tarn Street store",
    parentId: shop.id,
  };
  return {
    shop,
    room,
    store: { ...place("shelf", "shelf A"), parentId: room.id },
    cage: { ...place("shelf", "cage"), parentId: room.id },
    vans: [place("van", "Van 4"), place("van", "Van 7")],
    servicePoints: Array.from({ length: servicePoints }, (_, index): ServicePoint => {
      const area = random.pick(areas);
      return {
        id: random.id(opened),
        number: String(40_118 + index * 7).padStart(8, "0"),
        address: `${random.whole(1, 240)} ${random.pick(streets)}`,
        area: area.name,
        jurisdiction: area.jurisdiction,
      };
    }),
  };
}
