import { randomBytes } from "node:crypto";
import { commitment } from "@sealbook/evidence/commitment";
import { newId, type Tx } from "./transaction.ts";

/** What is shown where a person was forgotten. */
export const erasedText = "erased";

/**
 * Keeps a personal value where it can be erased, and returns what the ledger may hold of it.
 * @returns id of the row, and the salted commitment for the ledger's payload
 */
export async function keepPersonalValue(
  tx: Tx,
  kind: "person-name" | "address",
  value: string,
): Promise<{ id: string; commitment: string }> {
  const id = newId();
  const salt = randomBytes(16);
  const committed = commitment(salt, value);
  await tx.query(
    "INSERT INTO personal_value (id, kind, salt, value, commitment) VALUES ($1, $2, $3, $4, $5)",
    [id, kind, salt, value, committed],
  );
  return { id, commitment: committed };
}

/** Erases value and salt for good; the commitment stays and says nothing any more. */
export async function erasePersonalValue(tx: Tx, id: string): Promise<void> {
  await tx.query(
    "UPDATE personal_value SET value = NULL, salt = NULL, erased_at = now_to_the_millisecond() WHERE id = $1 AND erased_at IS NULL",
    [id],
  );
}
