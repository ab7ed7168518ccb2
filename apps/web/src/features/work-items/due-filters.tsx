import { type DueKind, dueKindNames, dueKinds } from "@sealbook/contract/due";
import { listPeople } from "@sealbook/contract/people";
import { may } from "@sealbook/contract/permissions";
import { listPlaces } from "@sealbook/contract/places";
import { useQuery } from "@tanstack/react-query";
import type { ReactNode } from "react";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useAccount } from "../../api/use-account.ts";
import { SearchFilter } from "../../ui/search-filter.tsx";
import { Select, type SelectOption } from "../../ui/select.tsx";
import type { SearchText } from "../../ui/use-search-text.ts";

/** Filters of due work as the service takes them, from the address. */
export interface DueSearch {
  kind?: DueKind;
  placeId?: string;
  area?: string;
  assigneeId?: string;
  unassigned?: "true";
}

export function dueFilterOf(search: SearchText): DueSearch {
  const kind = dueKinds.find((one) => one === search.kind);
  return {
    ...(kind === undefined ? {} : { kind }),
    ...(search.placeId ? { placeId: search.placeId } : {}),
    ...(search.area ? { area: search.area } : {}),
    ...(search.assigneeId ? { assigneeId: search.assigneeId } : {}),
    ...(search.unassigned === "true" ? { unassigned: "true" as const } : {}),
  };
}

/** What, where and whose: filters that the list and the calendar share. */
export function DueFilters({
  search,
  change,
  children,
}: {
  search: SearchText;
  change: (changes: SearchText) => void;
  children?: ReactNode;
}) {
  const { id: ownId } = useAccount();
  const places = useQuery(wholeListOptions(listPlaces, { query: {} }));
  const testers = useTesterOptions();
  const whose = search.unassigned === "true" ? "nobody" : (search.assigneeId ?? "");
  return (
    <div className="row-fields">
      <Select
        label="What"
        value={dueKinds.find((one) => one === search.kind) ?? ""}
        onChange={(kind) => change({ kind })}
        placeholder="Everything"
        options={dueKinds.map((one) => ({ value: one, label: dueKindNames[one] }))}
      />
      <Select
        label="Taken by"
        value={whose}
        onChange={(next) =>
          change(
            next === "nobody" ? { assigneeId: "", unassigned: "true" } : { assigneeId: next, unassigned: "" },
          )
        }
        placeholder="Anybody or nobody"
        options={[
          { value: ownId, label: "You" },
          { value: "nobody", label: "Nobody yet" },
          ...testers.filter(({ value }) => value !== ownId),
        ]}
      />
      <Select
        label="Place"
        value={search.placeId ?? ""}
        onChange={(placeId) => change({ placeId })}
        placeholder="Any place"
        options={(places.data?.rows ?? []).map(({ id, name }) => ({ value: id, label: name }))}
      />
      <SearchFilter
        label="Area"
        placeholder="the whole name"
        value={search.area ?? ""}
        onChange={(area) => change({ area })}
      />
      {children}
    </div>
  );
}

/** People who record tests and so may take work. */
export function useTesterOptions(): SelectOption[] {
  const people = useQuery(wholeListOptions(listPeople, { query: {} }));
  return (people.data?.rows ?? [])
    .filter((person) => person.active && may(person.role, "meterTest.record"))
    .map((person) => ({ value: person.id, label: person.name }));
}
