import type { PersonRef } from "@sealbook/contract/common";

/** Who did something; the service itself where there is nobody. */
export function PersonName({ person }: { person: PersonRef | null }) {
  return <>{person === null ? "the service" : person.name}</>;
}
