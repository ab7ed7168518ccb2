import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";

/** What a draw on record says of itself. */
export interface RecordedDraw {
  listHash: string;
  n: number;
  spares: number;
  seed: string;
  key: string;
  /** Utility numbers in the order drawn, spares last; null where they are not shown any more. */
  drawn: readonly string[] | null;
}

/** Whether the draw came out the same, and if not, where it differs. */
export interface RepeatedDraw {
  agrees: boolean;
  sentence: string;
}

/**
 * Repeats a draw from its published list and seed, by the same rules as anybody else can.
 *
 * @param listText  the published list, one number a line
 * @param recorded  what is on record
 * @returns whether hash, key and sample agree, in a sentence
 */
export function repeatedDraw(listText: string, recorded: RecordedDraw): RepeatedDraw {
  const candidates = listText.split(/\r?\n/).filter((line) => line !== "");
  const { n, spares, seed } = recorded;
  const draw = drawSample({ candidates, seed, n, spares });
  if (draw.kind === "refused") return { agrees: false, sentence: draw.sentence };
  if (draw.listHash !== recorded.listHash) {
    return {
      agrees: false,
      sentence: `The list does not have the hash on record: ${draw.listHash} comes out.`,
    };
  }
  if (draw.key !== recorded.key) {
    return { agrees: false, sentence: `List and seed do not give the key on record: ${draw.key} comes out.` };
  }
  if (recorded.drawn === null) {
    return {
      agrees: true,
      sentence: "Repeated here: hash and key of the list come out as they are on record.",
    };
  }
  const order = [...draw.sample, ...draw.spares];
  const place = order.findIndex((number, index) => number !== recorded.drawn?.[index]);
  if (place >= 0 || order.length !== recorded.drawn.length) {
    return {
      agrees: false,
      sentence:
        place >= 0
          ? `Place ${place + 1} should be ${order[place]}, but ${recorded.drawn[place] ?? "nothing"} is on record.`
          : `${order.length} should be drawn, but ${recorded.drawn.length} are on record.`,
    };
  }
  return {
    agrees: true,
    sentence: `Repeated here: the list's hash, the key and all ${order.length} numbers come out as they are on record.`,
  };
}
