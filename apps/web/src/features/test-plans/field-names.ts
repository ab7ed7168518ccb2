import { occasionNames, occasions } from "@sealbook/contract/test-plans";

/** What people call the fields of a plan, by pointer; "#" stands for the place in a list. */
export const fieldNames: Readonly<Record<string, string>> = {
  "/code": "Code",
  "/revision": "Revision",
  "/name": "Name",
  "/reason": "Reason",
  "/body/points": "Points",
  "/body/preconditions": "Preconditions",
  "/body/preconditions/#": "Precondition",
  "/body/points/#/key": "Key",
  "/body/points/#/label": "Point",
  "/body/points/#/loadPercent": "Load",
  "/body/points/#/powerFactor": "Power factor",
  "/body/points/#/counts": "Counts",
  "/body/points/#/runs": "Runs",
  ...Object.fromEntries(
    occasions.flatMap((occasion) => [
      [`/body/points/#/limits/${occasion}/minPercent`, `${occasionNames[occasion]}, from`],
      [`/body/points/#/limits/${occasion}/maxPercent`, `${occasionNames[occasion]}, to`],
      [`/body/points/#/limits/${occasion}/source`, `${occasionNames[occasion]}, source`],
    ]),
  ),
};
