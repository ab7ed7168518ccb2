import type { PersonRef } from "@sealbook/contract/common";

/** Who did something; Sealbook itself where there is nobody ("the service" would be a customer's, to a shop). */
export function PersonName({ person }: { person: PersonRef | null }) {
  return <>{person === null ? "Sealbook" : person.name}</>;
}
