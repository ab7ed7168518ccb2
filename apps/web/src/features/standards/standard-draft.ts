import type { Standard } from "@sealbook/contract/standards";

/** What is written about a standard, beside its calibrations. */
export interface StandardDraft {
  designation: string;
  maker: string;
  model: string;
  serial: string;
  rank: Standard["rank"];
  place: string;
}

export const blankStandard: StandardDraft = {
  designation: "",
  maker: "",
  model: "",
  serial: "",
  rank: "working",
  place: "",
};

export function draftOf({ designation, maker, model, place, rank, serial }: Standard): StandardDraft {
  return { designation, maker, model, serial, rank, place };
}

/** The fields as they are sent: without the blanks around them. */
export function fieldsOf(draft: StandardDraft): StandardDraft {
  return {
    designation: draft.designation.trim(),
    maker: draft.maker.trim(),
    model: draft.model.trim(),
    serial: draft.serial.trim(),
    rank: draft.rank,
    place: draft.place.trim(),
  };
}

export const standardFieldNames: Readonly<Record<string, string>> = {
  "/designation": "Designation",
  "/maker": "Maker",
  "/model": "Model",
  "/serial": "Serial",
  "/rank": "Rank",
  "/place": "Place",
  "/withdrawn": "Withdrawn",
  "/reason": "Reason",
};
