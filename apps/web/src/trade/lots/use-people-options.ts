import { listPeople } from "@sealbook/contract/people";
import { roleNames } from "@sealbook/contract/permissions";
import { useQuery } from "@tanstack/react-query";
import { wholeListOptions } from "../../api/operation-options.ts";
import type { SelectOption } from "../../ui/select.tsx";

/** People who may own an action: all with an open account. */
export function usePeopleOptions(): SelectOption[] {
  const people = useQuery(wholeListOptions(listPeople, { query: {} }));
  return (people.data?.rows ?? [])
    .filter((person) => person.active)
    .map((person) => ({
      value: person.id,
      label: `${person.name}, ${roleNames[person.role].toLowerCase()}`,
    }));
}
