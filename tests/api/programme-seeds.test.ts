import { newId } from "@sealbook/api/platform/transaction";
import type { Lot } from "@sealbook/contract/sampling";
import { afterAll, beforeAll, describe, expect, it, vi } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { inServiceScheme, type SamplingBench, samplingBench } from "../support/sampling-bench.ts";

let shop: TestApp;
let bench: SamplingBench;

beforeAll(async () => {
  shop = await testApp();
  bench = await samplingBench(shop);
  for (const letter of ["A", "B"]) {
    await bench.inService(
      await bench.aType(),
      Array.from({ length: 12 }, (_, place) => `${letter}${place}`),
    );
  }
});
afterAll(async () => {
  await bench.close();
  await shop.close();
});

describe("the seed of a programme", () => {
  it("draws from none of the lists that were published after it was known", async () => {
    const scheme = await bench.aScheme(inServiceScheme);
    const programme = await bench.aProgramme(scheme, { year: 2026 });
    const [one, other] = await bench.lotsOf(programme.id);
    if (one === undefined || other === undefined) throw new Error("both groups have their lot");
    const repeat = async (lot: Lot, source: "system" | "typed-dice") => {
      const id = newId();
      await bench.engineer.agent
        .post(`/api/lots/${lot.id}/lists`)
        .send({
          id,
          seed: { source, announcement: null, notBefore: null },
          repeats: { id: lot.lists[0]?.id, reason: "A meter had been left off the list" },
        })
        .expect(201);
      return id;
    };
    const draw = (listId: string, seed: string | null) =>
      bench.engineer.agent.post(`/api/draw-lists/${listId}/draw`).send({ id: newId(), seed });

    // One list has terms of its own by the time that the programme is drawn: the job leaves it to them.
    const ownTerms = await repeat(one, "system");
    await bench.engineer.agent
      .post(`/api/programmes/${programme.id}/draw`)
      .set("if-match", `"${programme.version}"`)
      .send({ seed: "3 3 1 6 2 5" })
      .expect(202);
    await vi.waitFor(
      async () => {
        const { body } = await bench.engineer.agent.get(`/api/programmes/${programme.id}`).expect(200);
        if (body.state !== "drawn") throw new Error(body.state);
      },
      { timeout: 30_000, interval: 200 },
    );
    expect((await bench.lot(one.id)).state).toBe("listed");
    expect(await bench.lot(other.id)).toMatchObject({
      state: "drawn",
      lists: [{ draw: { seed: "3 3 1 6 2 5" } }],
    });
    await draw(ownTerms, null).expect(201);

    // The other list is repeated once the seed is on record: it is drawn with a new one only.
    const late = await repeat(other, "typed-dice");
    const { body: refused } = await draw(late, "3 3 1 6 2 5").expect(422);
    expect(refused.errors).toMatchObject([{ pointer: "/seed" }]);
    expect(refused.detail).toContain("on record before the list was published");
    await draw(late, "5 1 2 2 6 4").expect(201);
  });
});
