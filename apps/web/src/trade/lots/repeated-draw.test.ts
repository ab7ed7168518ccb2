import { describe, expect, it } from "vitest";
import { repeatedDraw } from "./repeated-draw.ts";

// The first vector of draw-specification.md, computed with the program printed there, apart from this product.
const list = "1000\n1001\n1002\n1003\n1004\n1005\n1006\n1007\n1008\n1009\n";
const recorded = {
  listHash: "640d77d68d4badb8e8da461a86fc34392c9655cc8e54fb13d15d5bc6efd5c03e",
  n: 3,
  spares: 2,
  seed: "3 1 4 1 5 9 2 6 5 3 5 8 9 7 9 3 2 3 8 4",
  key: "da64d4349f09ad5fd89d7de1808342ddc6ac297d66032a418d2e0baabd2fedc4",
  drawn: ["1003", "1005", "1000", "1009", "1001"],
};

describe("a draw repeated in the browser", () => {
  it("agrees with the vector of the specification", () => {
    expect(repeatedDraw(list, recorded)).toMatchObject({ agrees: true });
    expect(repeatedDraw(list, { ...recorded, drawn: null })).toMatchObject({ agrees: true });
  });

  it("says what does not agree", () => {
    expect(repeatedDraw(list.replace("1009\n", "1010\n"), recorded).sentence).toContain(
      "does not have the hash",
    );
    expect(repeatedDraw(list, { ...recorded, seed: "3 1 4 1 5" }).sentence).toContain(
      "do not give the key on record",
    );
    expect(
      repeatedDraw(list, { ...recorded, drawn: ["1003", "1004", "1000", "1009", "1001"] }),
    ).toMatchObject({ agrees: false, sentence: "Place 2 should be 1005, but 1004 is on record." });
    expect(repeatedDraw(list, { ...recorded, drawn: ["1003", "1005", "1000", "1009"] })).toMatchObject({
      agrees: false,
      sentence: "Place 5 should be 1001, but nothing is on record.",
    });
  });
});
