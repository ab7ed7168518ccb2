import { uuidV7 } from "@sealbook/evidence/uuid-v7";

/** A new UUID of version 7: the id of a record about to be made, and the key that makes its sending repeatable. */
export function newId(): string {
  return uuidV7(Date.now(), crypto.getRandomValues(new Uint8Array(10)));
}
