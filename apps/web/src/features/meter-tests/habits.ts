import { testReasons } from "@sealbook/contract/work-items";
import { z } from "zod";
import { entryKinds } from "./test-form.ts";

const place = "sealbook.test-habits";

const habitsSchema = z.object({
  standardId: z.string(),
  /** By standard: whether the bench had applied its error at the last test with it. */
  errorAppliedByBench: z.record(z.string(), z.enum(["yes", "no"])),
  entryKind: z.enum(entryKinds),
  reasons: z.array(z.enum(testReasons)),
});
/** What the last test on this device used: offered again, in plain sight. Nothing of it is about a person or a meter. */
export type Habits = z.infer<typeof habitsSchema>;

const none: Habits = { standardId: "", errorAppliedByBench: {}, entryKind: "counts", reasons: [] };

export function readHabits(storage: Pick<Storage, "getItem">): Habits {
  const kept = readJson(storage, place);
  const read = habitsSchema.safeParse(kept);
  return read.success ? read.data : none;
}

export function keepHabits(storage: Pick<Storage, "setItem">, habits: Habits): void {
  try {
    storage.setItem(place, JSON.stringify(habits));
  } catch {
    // A device that keeps nothing costs a choice per test; the test itself is not in danger.
  }
}

function readJson(storage: Pick<Storage, "getItem">, name: string): unknown {
  try {
    return JSON.parse(storage.getItem(name) ?? "null");
  } catch {
    return null;
  }
}
