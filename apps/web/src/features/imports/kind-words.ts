import type { ImportKind } from "@sealbook/contract/imports";

/** What is said differently of each kind of file. */
export const kindWords: Readonly<
  Record<
    ImportKind,
    {
      /** What a row of the file becomes. */
      noun: readonly [one: string, many: string];
      /** Whose files these are, as in "Make one for this bench's files". */
      files: string;
      /** Whose name a mapping may bear. */
      source: string;
      /** Who may take such a file in. */
      takers: string;
      /** What the columns must hold at the least. */
      needed: string;
      /** What to do with the rows set aside. */
      mend: string;
      /** What went in. */
      wentIn: string;
      /** What is said before rows go in. */
      forGood: string;
    }
  >
> = {
  "meter-tests": {
    noun: ["test", "tests"],
    files: "this bench's files",
    source: "the bench's",
    takers: "A technician, quality engineer or supervisor",
    needed: "The meter's number or serial, the time of the test and the figures of its points are needed.",
    mend: "Mend them in the file and take it in as a new import.",
    wentIn: "are tests in the book",
    forGood: "Tests in the book are never taken out; what turns out wrong is amended test by test.",
  },
  "shipment-meters": {
    noun: ["meter", "meters"],
    files: "this maker's lists",
    source: "the maker's",
    takers: "A quality engineer, supervisor or storekeeper",
    needed:
      "The maker's serial is needed, and the utility number for meters that are not on record yet. The maker's own results are kept for information: they decide nothing.",
    mend: "Mend them in the file and take it in on the shipment's page, too.",
    wentIn: "are meters of the shipment",
    forGood:
      "Meters that are not on record are put on record as received, and all of them enter the shipment. None is taken out again.",
  },
  "meter-types": {
    noun: ["type", "types"],
    files: "these files",
    source: "the old book's",
    takers: "A quality engineer or supervisor",
    needed: "All of a nameplate is needed but Kt and the register's multiplier.",
    mend: "Mend them in the file and take it in as a new import.",
    wentIn: "are types in the book",
    forGood: "Types are never taken out; one that is wrong is changed on its page, with a reason.",
  },
  "service-points": {
    noun: ["service point", "service points"],
    files: "these files",
    source: "the old book's",
    takers: "A quality engineer, supervisor or storekeeper",
    needed: "Number, address, area and jurisdiction are needed.",
    mend: "Mend them in the file and take it in as a new import.",
    wentIn: "are service points in the book",
    forGood: "Service points in the book are never taken out.",
  },
  meters: {
    noun: ["meter", "meters"],
    files: "these files",
    source: "the old book's",
    takers: "A technician, quality engineer, supervisor or storekeeper",
    needed:
      "Utility number, maker's serial, maker, model and place are needed; form and class where a model has several types. Without an owner a meter is the utility's.",
    mend: "Mend them in the file and take it in as a new import.",
    wentIn: "are meters in the book",
    forGood:
      "Meters at a service point go in as in service, the others as received. None is taken out again; what turns out wrong is corrected meter by meter.",
  },
  "meter-events": {
    noun: ["event", "events"],
    files: "these files",
    source: "the old book's",
    takers: "A technician, quality engineer, supervisor or storekeeper",
    needed:
      "The meter's utility number or serial, what happened and when are needed, and the place where the event leads to one. Rows may stand in any order.",
    mend: "Mend them in the file and take it in as a new import.",
    wentIn: "are events in the book",
    forGood: "Events are never taken out; a mistake is taken back by an event that names it.",
  },
};
