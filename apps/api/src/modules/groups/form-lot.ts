import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { newId, type Tx } from "../../platform/transaction.ts";
import { addMembers, openLot, plan, publishList } from "../sampling/sampling.ts";
import type { PartOfGroup } from "./parts-of.ts";
import { findLotsOf, findParents, lockProgramme, type StoredProgramme } from "./store.ts";

/**
 * Forms one lot of a programme, plans it and publishes its list, unless its series has its lot already.
 *
 * @param seriesOfYear all series that the programme forms
 */
export async function formLot(
  tx: Tx,
  programme: StoredProgramme,
  scheme: Scheme,
  part: PartOfGroup,
  seriesOfYear: readonly string[],
  meterIds: readonly string[],
): Promise<void> {
  await lockProgramme(tx, programme.id);
  const lots = await findLotsOf(tx, programme.id);
  if (lots.some(({ series }) => series === part.series)) return;
  const id = newId();
  await openLot(tx, {
    id,
    kind: "in-service",
    number: `${scheme.code}-${programme.year}-${String(lots.length + 1).padStart(3, "0")}`,
    title: part.title,
    schemeId: scheme.id,
    schemeCode: scheme.code,
    series: part.series,
    inherits: await findParents(
      tx,
      { schemeCode: scheme.code, series: part.series, year: programme.year },
      seriesOfYear,
      meterIds,
    ),
    programmeId: programme.id,
    year: programme.year,
    typeId: null,
    contract: "",
    purchaseOrder: "",
    receivedOn: null,
    note: "",
    resubmitsId: null,
    dueOn: programme.dueOn,
  });
  await addMembers(tx, id, meterIds);
  await plan(tx, id, null, programme.dueOn);
  await publishList(tx, id, { id: newId(), seed: programme.seed, repeats: null });
}
