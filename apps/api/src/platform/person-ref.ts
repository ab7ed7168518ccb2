import type { PersonRef } from "@sealbook/contract/common";
import { erasedText } from "./personal-values.ts";

export function personRef(id: string, name: string | null): PersonRef;
export function personRef(id: string | null, name: string | null): PersonRef | null;
/**
 * Who did something, as others may see it.
 *
 * @param id   account, null for the service itself
 * @param name printed name, null once the person was forgotten
 */
export function personRef(id: string | null, name: string | null): PersonRef | null {
  return id === null ? null : { id, name: name ?? erasedText };
}
