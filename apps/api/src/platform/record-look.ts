import type { Operation } from "@sealbook/contract/operation";
import type { FastifyInstance, FastifyRequest } from "fastify";
import { inTransaction, newId } from "./transaction.ts";

/** Asking who is signed in, or for the shop's name, shows nothing of the record. */
const showsNothing = new Set<Operation["permission"]>(["session.open", "session.self", "shop.read"]);

const longestParameters = 4000;

/**
 * Puts on record what a regulator asks for, before it is answered: without the record there is no answer. A request
 * that is refused is recorded, too.
 */
export async function recordLook(
  { database }: FastifyInstance,
  request: FastifyRequest,
  operation: Operation,
  allowed: boolean,
): Promise<void> {
  const actor = request.session?.actor;
  if (actor?.role !== "regulator" || showsNothing.has(operation.permission)) return;
  const asked = JSON.stringify({ ...(request.params as object), ...(request.query as object) });
  const parameters = asked.length > longestParameters ? '{"tooLong":true}' : asked;
  await inTransaction(database.pool, actor, async (tx) => {
    await tx.query("INSERT INTO look (id, operation, parameters, allowed) VALUES ($1, $2, $3, $4)", [
      newId(),
      operation.id,
      parameters,
      allowed,
    ]);
  });
}
