import type { NewMeterTest } from "@sealbook/contract/meter-tests";
import type { Source } from "../../platform/transaction.ts";
import { meterTypesById } from "../meter-types/meter-types.ts";
import { buildTest } from "./build-test.ts";
import { gatherForTests, placeKey } from "./gather.ts";
import type { BuiltTest, TestInput } from "./recording-terms.ts";

/** A test as it would go on record, of a meter that is not: its nameplate has these two texts for its numbers. */
export type TestTemplate = Omit<BuiltTest, "entry">;
export const numberOfTemplate = "number-of-template";
export const serialOfTemplate = "serial-of-template";

/**
 * Judges tests of meters that only their type is known of, and writes nothing: what comes of them is put on record many
 * times over by whoever fills a large demo. Judged by the same function as every other test.
 *
 * @param jurisdiction whose rules hold where they were tested
 * @throws Error when one of them would be refused
 */
export async function testTemplates(
  source: Source,
  tests: readonly { typeId: string; planId: string; body: Omit<NewMeterTest, "planId" | "signature"> }[],
  { jurisdiction, testerId }: { jurisdiction: string; testerId: string },
): Promise<TestTemplate[]> {
  const types = await meterTypesById(source, [...new Set(tests.map(({ typeId }) => typeId))]);
  const at = { placeId: "", jurisdiction };
  const inputs = tests.map(({ body, planId }): TestInput => ({ ...body, planId, confirmedUnusual: true }));
  const gathered = await gatherForTests(
    source,
    inputs.map(({ meterId, planId, standardId, performedAt }) => ({
      meterId,
      planId,
      standardId,
      performedAt: new Date(performedAt),
      at,
    })),
  );
  return inputs.map((input, index) => {
    const type = types.get(tests[index]?.typeId ?? "");
    if (type === undefined) throw new Error("a template needs a type on record");
    const meter = {
      id: input.meterId,
      utilityNumber: numberOfTemplate,
      serial: serialOfTemplate,
      firstEventOn: null,
      heldFor: null,
      type,
    };
    const built = buildTest(
      {
        ...gathered,
        meters: new Map([[meter.id, meter]]),
        places: new Map([[placeKey(input.meterId, new Date(input.performedAt)), at]]),
      },
      input,
      { testerId, imported: null, supersedes: null },
      new Date(),
    );
    if (built.kind === "refused") throw new Error(`${built.slug}: ${built.detail}`);
    return built.test;
  });
}
