import { listSchemes } from "@sealbook/contract/sampling-schemes";
import { useQuery } from "@tanstack/react-query";
import { wholeListOptions } from "../../api/operation-options.ts";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { GroupYears } from "./group-years.tsx";

/** Year against year, all groups or those of one scheme. */
export function GroupYearsPage() {
  const [search, change] = useSearchText();
  const schemes = useQuery(wholeListOptions(listSchemes, { query: { purpose: "in-service" } }));
  const schemeCode = search.scheme ?? "";
  return (
    <div className="stack">
      <PageHeader
        title="Year against year"
        note="What the samples of each group said, as found, and how it changed."
      />
      <div className="row-fields">
        <Select
          label="Sampling scheme"
          value={schemeCode}
          onChange={(scheme) => change({ scheme })}
          placeholder="All schemes"
          options={(schemes.data?.rows ?? []).map((scheme) => ({
            value: scheme.code,
            label: `${scheme.code}: ${scheme.name}`,
          }))}
          error={schemes.error === null ? undefined : schemes.error.message}
        />
      </div>
      <GroupYears filter={schemeCode === "" ? {} : { schemeCode }} />
    </div>
  );
}
