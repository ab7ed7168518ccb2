import { randomBytes } from "node:crypto";
import { commitment } from "@sealbook/evidence/commitment";
import { newId, type Tx } from "./transaction.ts";

/** What is shown where a person was forgotten. */
export const erasedText = "erased";

/** A personal value on record: its row, and what the ledger may hold of it. */
export interface KeptPersonalValue {
  id: string;
  commitment: string;
}

/** Keeps personal values where they can be erased; the ledger's payload takes their salted commitments alone. */
export async function keepPersonalValues(
  tx: Tx,
  kind: "person-name" | "address",
  values: readonly string[],
): Promise<KeptPersonalValue[]> {
  const kept = values.map((value) => {
    const salt = randomBytes(16);
    return { id: newId(), salt, value, commitment: commitment(salt, value) };
  });
  await tx.query(
    `INSERT INTO personal_value (id, kind, salt, value, commitment)
     SELECT id, $1, salt, value, commitment FROM unnest($2::uuid[], $3::bytea[], $4::text[], $5::text[]) AS t (id, salt, value, commitment)`,
    [
      kind,
      kept.map(({ id }) => id),
      kept.map(({ salt }) => salt),
      kept.map(({ value }) => value),
      kept.map((value) => value.commitment),
    ],
  );
  return kept.map((value) => ({ id: value.id, commitment: value.commitment }));
}

export async function keepPersonalValue(
  tx: Tx,
  kind: "person-name" | "address",
  value: string,
): Promise<KeptPersonalValue> {
  const [kept] = await keepPersonalValues(tx, kind, [value]);
  if (kept === undefined) throw new Error("one value in, one value out");
  return kept;
}

/**
 * Erases value and salt for good; the commitment stays and says nothing any more. Replies that are kept for requests
 * sent again lose the value too.
 */
export async function erasePersonalValue(tx: Tx, id: string): Promise<void> {
  const [kept] = await tx.query<{ value: string }>(
    "SELECT value FROM personal_value WHERE id = $1 AND erased_at IS NULL FOR UPDATE",
    [id],
  );
  if (kept === undefined) return;
  await tx.query(
    "UPDATE personal_value SET value = NULL, salt = NULL, erased_at = now_to_the_millisecond() WHERE id = $1",
    [id],
  );
  await eraseFromReplies(tx, kept.value);
}

/** Takes a text out of the replies that are kept for requests sent again. */
export async function eraseFromReplies(tx: Tx, text: string): Promise<void> {
  await tx.query(
    "UPDATE idempotent_request SET reply = replace(reply, $1, $2) WHERE position($1 IN reply) > 0",
    [JSON.stringify(text), JSON.stringify(erasedText)],
  );
}
