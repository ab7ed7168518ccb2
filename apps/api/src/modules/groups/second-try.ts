import type { Lot } from "@sealbook/contract/sampling";
import { refusedByRule } from "../../platform/problem-error.ts";
import type { Tx } from "../../platform/transaction.ts";
import { addMembers, getLot, lockLotIn, openLot, plan } from "../sampling/sampling.ts";
import { countSecondTries, findStillInService } from "./store.ts";

/**
 * Opens the second try of a group that was not accepted, where its plan grants one: a lot of its own with the meters that
 * are still in service, planned under tightened inspection, with a list and a draw of its own to come. Its approved
 * decision is the group's.
 */
export async function openSecondTry(
  tx: Tx,
  firstId: string,
  request: { id: string; reason: string },
): Promise<Lot> {
  await lockLotIn(
    tx,
    firstId,
    ["approved"],
    "A second try follows a refusal that is approved, while its group is not closed.",
  );
  const first = await getLot(tx, firstId, tx.actor);
  const { secondTry } = first;
  if (secondTry === null) {
    throw refusedByRule("/id", "The plan of this group knows of no second try.", first.schemeBody.source);
  }
  if (secondTry.refusal !== null) throw refusedByRule("/id", secondTry.refusal, secondTry.source);
  const { meterIds, of } = await findStillInService(tx, firstId);
  await openLot(tx, {
    id: request.id,
    kind: "in-service",
    number: `${first.number}-${(await countSecondTries(tx, firstId)) + 2}`,
    title: `${first.title}, second try`,
    schemeId: first.scheme.id,
    schemeCode: first.scheme.code,
    series: first.series,
    inherits: [],
    programmeId: first.programmeId,
    year: first.year,
    typeId: first.typeId,
    contract: "",
    purchaseOrder: "",
    receivedOn: null,
    note: `Second try of lot ${first.number}: ${request.reason}`,
    resubmitsId: null,
    secondTryOfId: firstId,
    dueOn: secondTry.until,
  });
  await addMembers(tx, request.id, meterIds, {
    secondTryOf: firstId,
    noLongerInService: of - meterIds.length,
  });
  return await plan(tx, request.id, null, secondTry.until);
}
