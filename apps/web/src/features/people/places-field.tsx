import type { Account } from "@sealbook/contract/people";
import { listPlaces } from "@sealbook/contract/places";
import { useQuery } from "@tanstack/react-query";
import { wholeListOptions } from "../../api/operation-options.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Checkbox } from "../../ui/checkbox.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Waiting } from "../../ui/waiting.tsx";

type Places = Account["places"];

/** Chooses the places that somebody is limited to; none is no limit. */
export function PlacesField({
  places,
  onChange,
  error,
}: {
  places: Places;
  onChange: (places: Places) => void;
  error: string | undefined;
}) {
  const list = useQuery(wholeListOptions(listPlaces, { query: {} }));
  if (list.data === undefined) {
    return list.error === null ? <Waiting what="the places" /> : <ProblemNotice error={list.error} />;
  }
  const offered = list.data.rows.filter(({ kind }) => kind !== "service-point");
  // A place that was closed since stays offered as long as it is chosen.
  const all = [...offered, ...places.filter(({ id }) => !offered.some((one) => one.id === id))];
  return (
    <fieldset className="field">
      <legend className="field-label">Works at</legend>
      <p className="quiet small">
        Nothing chosen is everywhere. Somebody limited to places records tests, moves and work there only.
      </p>
      {all.map((place, index) => (
        <Checkbox
          key={place.id}
          isSelected={places.some(({ id }) => id === place.id)}
          onChange={(isOn) =>
            onChange(
              isOn
                ? [...places, { id: place.id, kind: place.kind, name: place.name }]
                : places.filter(({ id }) => id !== place.id),
            )
          }
          {...(index === 0 ? { id: fieldId("/placeIds"), error } : {})}
        >
          {place.name}
        </Checkbox>
      ))}
    </fieldset>
  );
}
