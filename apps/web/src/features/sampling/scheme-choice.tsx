import { listSchemes } from "@sealbook/contract/sampling-schemes";
import { useQuery } from "@tanstack/react-query";
import { wholeListOptions } from "../../api/operation-options.ts";
import { Select } from "../../ui/select.tsx";
import { choiceOfScheme } from "./choice-of-scheme.ts";

/** Takes tables, level and AQL from a scheme on record. */
export function SchemeChoice({
  code,
  onChoose,
}: {
  /** Code of the scheme whose plan is shown; "" for none. */
  code: string;
  onChoose: (changes: Record<string, string>) => void;
}) {
  const schemes = useQuery(wholeListOptions(listSchemes, { query: {} }));
  const choices = (schemes.data?.rows ?? []).flatMap((scheme) => {
    const choice = choiceOfScheme(scheme.body.plan);
    return choice === null ? [] : [{ code: scheme.code, name: scheme.name, choice }];
  });
  return (
    <Select
      label="Scheme"
      optional
      value={choices.some((one) => one.code === code) ? code : ""}
      onChange={(next) => {
        const chosen = choices.find((one) => one.code === next);
        onChoose(
          chosen === undefined ? { scheme: "" } : { scheme: chosen.code, ...chosen.choice, percent: "" },
        );
      }}
      placeholder="None, by the tables alone"
      options={choices.map((one) => ({ value: one.code, label: `${one.code}: ${one.name}` }))}
      error={schemes.error === null ? undefined : schemes.error.message}
    />
  );
}
