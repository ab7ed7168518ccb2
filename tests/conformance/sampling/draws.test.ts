import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { drawPlaces } from "@sealbook/metrology/sampling/draw/draw-places";
import { drawSample } from "@sealbook/metrology/sampling/draw/draw-sample";
import { listHash } from "@sealbook/metrology/sampling/draw/list-hash";
import { numberBelow } from "@sealbook/metrology/sampling/draw/number-below";
import { orderCandidates } from "@sealbook/metrology/sampling/draw/order-candidates";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { z } from "zod";
import { readOpenCases } from "./read-data.ts";

function drawn(...[request]: Parameters<typeof drawSample>) {
  const draw = drawSample(request);
  if (draw.kind !== "drawn") throw new Error(draw.sentence);
  return draw;
}

function numbered(prefix: string, start: number, step: number, count: number): string[] {
  return Array.from({ length: count }, (_, i) => `${prefix}${String(start + step * i).padStart(6, "0")}`);
}

const vectorSchema = z.object({
  name: z.string(),
  candidates: z.array(z.string()).optional(),
  generate: z
    .object({ prefix: z.string(), start: z.number(), step: z.number(), count: z.number() })
    .optional(),
  seed: z.string(),
  n: z.number(),
  spares: z.number(),
  listHash: z.string(),
  key: z.string(),
  order: z.array(z.string()),
});

const vectors = readFileSync(new URL("data/draw-vectors.jsonl", import.meta.url), "utf8")
  .split("\n")
  .filter((line) => line !== "" && !line.startsWith("#"))
  .map((line) => vectorSchema.parse(JSON.parse(line)));

describe("draws by the specification (vectors computed with its own Python program)", () => {
  it("has five vectors, and the specification prints each list hash", () => {
    expect(vectors).toHaveLength(5);
    const specification = readFileSync(
      new URL("../../../packages/metrology/src/sampling/draw-specification.md", import.meta.url),
      "utf8",
    );
    for (const { listHash: hash, key } of vectors) {
      expect(specification).toContain(hash);
      expect(specification).toContain(key);
    }
  });

  it.each(vectors)("$name", (vector) => {
    const { generate, seed, n, spares } = vector;
    const candidates =
      vector.candidates ??
      (generate ? numbered(generate.prefix, generate.start, generate.step, generate.count) : []);
    const draw = drawn({ candidates, seed, n, spares });
    expect(draw).toMatchObject({
      algorithm: "sealbook-draw-1",
      candidateCount: candidates.length,
      listHash: vector.listHash,
      key: vector.key,
      sample: vector.order.slice(0, n),
      spares: vector.order.slice(n),
    });
    expect(draw.steps).toHaveLength(n + spares);
  });

  it.each(
    readOpenCases(
      "random_sampling",
      z
        .object({ N: z.number(), n: z.number(), public_seed: z.string(), draw_id: z.string() })
        .or(z.looseObject({})),
      z.looseObject({}),
      "open-lotdraw",
    ),
  )(
    "$id: the same list hash, numbers and exchanges under another key rule (published vector)",
    ({ input, expected }) => {
      const {
        N,
        n,
        public_seed: seed,
        draw_id: id,
      } = input as { N: number; n: number; public_seed: string; draw_id: string };
      const list = numbered("MTR", 100_000, 7, N);
      expect(listHash(list)).toBe(expected.list_hash);
      const key = createHash("sha256").update(`LOTDRAW1|${expected.list_hash}|${seed}|${id}`).digest();
      expect(key.toString("hex")).toBe(expected.key_hex);
      drawPlaces(list, key, n);
      expect(list.slice(0, n)).toEqual(expected.sample_in_draw_order);
    },
  );

  it.each(
    readOpenCases(
      "random_sampling",
      z.looseObject({ message_utf8: z.string() }),
      z.object({ hex: z.string() }),
      "sha256",
    ),
  )("$id: $source", ({ input, expected }) => {
    // The hash of a list of one text is that of the text and a line feed; FIPS 180-4 fixes what SHA-256 of it is.
    expect(createHash("sha256").update(input.message_utf8).digest("hex")).toBe(expected.hex);
    const text = input.message_utf8 === "" ? "x" : input.message_utf8;
    expect(listHash([text])).toBe(createHash("sha256").update(`${text}\n`).digest("hex"));
  });
});

describe("order of candidates", () => {
  it("is that of UTF-8 bytes, whatever characters there are", () => {
    fc.assert(
      fc.property(
        fc.uniqueArray(fc.string({ unit: "grapheme", minLength: 1, maxLength: 6 }), {
          minLength: 1,
          maxLength: 40,
        }),
        (texts) => {
          const plain = texts.filter((text) => !/[\p{Cc}\p{Cs}]/u.test(text));
          if (plain.length === 0) return;
          const result = orderCandidates(plain);
          const wanted = [...plain].sort((a, b) =>
            Buffer.compare(Buffer.from(a, "utf8"), Buffer.from(b, "utf8")),
          );
          expect(result).toEqual({ kind: "ordered", candidates: wanted });
        },
      ),
      { numRuns: 500, seed: 20260115 },
    );
    // U+FF5E sorts after U+1D7D9 by UTF-16 units and before it by UTF-8 bytes.
    expect(orderCandidates(["\u{1d7d9}", "\uff5e"])).toEqual({
      kind: "ordered",
      candidates: ["\uff5e", "\u{1d7d9}"],
    });
  });

  it("hashes a list longer than a chunk as its definition does", () => {
    const list = numbered("", 1, 1, 10_000);
    const whole = createHash("sha256")
      .update(list.map((text) => `${text}\n`).join(""))
      .digest("hex");
    expect(listHash(list)).toBe(whole);
    expect(listHash(list.slice(0, 4096))).toBe(
      createHash("sha256")
        .update(
          list
            .slice(0, 4096)
            .map((text) => `${text}\n`)
            .join(""),
        )
        .digest("hex"),
    );
  });

  it("leaves the list that was handed in as it was", () => {
    const candidates = ["c", "a", "b"];
    drawn({ candidates, seed: "1", n: 3 });
    expect(candidates).toEqual(["c", "a", "b"]);
  });
});

describe("what a draw must hold", () => {
  const list = fc.uniqueArray(fc.stringMatching(/^[0-9A-Z]{1,8}$/), { minLength: 2, maxLength: 60 });

  it("ignores the order of its list", () => {
    fc.assert(
      fc.property(
        list,
        fc.stringMatching(/^[0-9]{1,20}$/),
        fc.integer({ min: 1, max: 60 }),
        (candidates, seed, size) => {
          const n = Math.min(size, candidates.length);
          const first = drawn({ candidates, seed, n });
          const turned = drawn({ candidates: [...candidates].reverse(), seed, n });
          expect(turned).toEqual(first);
          expect(new Set(first.sample).size).toBe(n);
          for (const one of first.sample) expect(candidates).toContain(one);
        },
      ),
      { numRuns: 200, seed: 20260115 },
    );
  });

  it("keeps what is drawn first when more are drawn: spares follow the sample", () => {
    fc.assert(
      fc.property(list, fc.integer({ min: 1, max: 59 }), (candidates, size) => {
        const n = Math.min(size, candidates.length - 1);
        const small = drawn({ candidates, seed: "dice", n });
        const large = drawn({ candidates, seed: "dice", n, spares: candidates.length - n });
        expect(large.sample).toEqual(small.sample);
        expect([...large.sample, ...large.spares].sort()).toEqual([...candidates].sort());
      }),
      { numRuns: 200, seed: 20260115 },
    );
  });

  it("changes with the seed and with the list", () => {
    const candidates = numbered("M", 1, 1, 1000);
    const first = drawn({ candidates, seed: "1", n: 10 });
    expect(drawn({ candidates, seed: "2", n: 10 }).sample).not.toEqual(first.sample);
    const longer = drawn({ candidates: [...candidates, "M001001"], seed: "1", n: 10 });
    expect(longer.listHash).not.toBe(first.listHash);
    expect(longer.sample).not.toEqual(first.sample);
  });

  it("discards the numbers that would favour the first remainders", () => {
    // By rule 7: 2^64 mod 3 is 1, so 2^64 - 1 alone is discarded; 2^64 mod 10 is 6, so the last six are.
    const stream = (...numbers: bigint[]) => {
      const queue = [...numbers];
      return () => queue.shift() ?? 0n;
    };
    const top = 2n ** 64n;
    expect(numberBelow(stream(top - 1n, top - 2n), 3)).toEqual({
      numbers: [(top - 1n).toString(), (top - 2n).toString()],
      place: 2,
    });
    expect(numberBelow(stream(top - 1n, top - 6n, top - 7n), 10).numbers).toHaveLength(3);
    expect(numberBelow(stream(top - 7n), 10)).toEqual({ numbers: [(top - 7n).toString()], place: 9 });
    expect(numberBelow(stream(top - 1n), 2 ** 20).numbers).toHaveLength(1);
    expect(numberBelow(stream(5n), 1)).toEqual({ numbers: ["5"], place: 0 });
  });

  it("is uniform: chi-squared over a million draws of 2 of 5, in the order drawn", () => {
    const counts = new Map<string, number>();
    const draws = 1_000_000;
    const key = new Uint8Array(32);
    const view = new DataView(key.buffer);
    for (let draw = 0; draw < draws; draw += 1) {
      view.setUint32(0, draw);
      const list5 = ["a", "b", "c", "d", "e"];
      drawPlaces(list5, key, 2);
      const pair = `${list5[0]}${list5[1]}`;
      counts.set(pair, (counts.get(pair) ?? 0) + 1);
    }
    expect(counts.size).toBe(20);
    const expected = draws / 20;
    let chiSquared = 0;
    for (const count of counts.values()) chiSquared += (count - expected) ** 2 / expected;
    // 19 degrees of freedom: 0.01 % lie above 50.80 and 0.01 % below 3.97 (quantiles by scipy 1.17).
    expect(chiSquared).toBeLessThan(50.8);
    expect(chiSquared).toBeGreaterThan(3.97);
  }, 120_000);

  it("refuses what nobody could repeat or trust", () => {
    const good = { candidates: ["a", "b", "c"], seed: "6 3 1", n: 2 };
    expect(drawSample({ ...good, candidates: [] })).toMatchObject({ reason: "empty-list" });
    expect(drawSample({ ...good, candidates: ["a", "a", "b"] })).toMatchObject({ reason: "candidate-twice" });
    expect(drawSample({ ...good, candidates: ["a", "", "b"] })).toMatchObject({
      reason: "candidate-not-text",
    });
    expect(drawSample({ ...good, candidates: ["a", "b\n", "c"] })).toMatchObject({
      reason: "candidate-not-text",
    });
    expect(drawSample({ ...good, candidates: ["a\ud835", "\udfd9b"] })).toMatchObject({
      reason: "candidate-not-text",
    });
    expect(drawSample({ ...good, candidates: ["a", "\ud800", "c"] })).toMatchObject({
      reason: "candidate-not-text",
    });
    expect(drawSample({ ...good, n: 2, spares: 2 })).toMatchObject({ reason: "more-than-listed" });
    for (const seed of ["", " 1", "1 ", "1\n2", "\udc00", "9".repeat(1001)]) {
      expect(drawSample({ ...good, seed })).toMatchObject({ reason: "seed-not-usable" });
    }
    expect(() => drawSample({ ...good, n: 0 })).toThrow(RangeError);
    expect(() => drawSample({ ...good, spares: -1 })).toThrow(RangeError);
    expect(() => drawPlaces(["a"], new Uint8Array(32), 2)).toThrow(RangeError);
  });
});
