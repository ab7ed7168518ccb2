import "./pull-list-page.css";
import { getProgramme, getPullList } from "@sealbook/contract/groups";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Select } from "../../ui/select.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { useSearchText } from "../../ui/use-search-text.ts";
import { PullTable } from "./pull-table.tsx";

/** The meters to be pulled, by area and service point: on screen, on paper, as CSV. */
export function PullListPage() {
  const programmeId = useRouteParam("programmeId");
  const [search, change] = useSearchText();
  const { data: programme } = useSuspenseQuery(
    operationOptions(getProgramme, { params: { id: programmeId } }),
  );
  const area = programme.areas.find((one) => one === search.area) ?? "";
  const state = search.state === "all" ? "all" : "open";
  const filter = { ...(area === "" ? {} : { area }), state } as const;
  return (
    <div className="stack pull-list">
      <PageHeader
        title={`Pull list, ${programme.name}`}
        note={`${area === "" ? "All areas" : area}, results due ${programme.dueOn}`}
        actions={
          <>
            <Link to={paths.programme(programme.id)}>The programme</Link>
            <a href={operationUrl(getPullList, { id: programme.id }, filter)} download>
              As CSV
            </a>
            <Button onClick={() => window.print()}>Print</Button>
          </>
        }
      />
      <Notice tone="warn">
        <p>
          Before a meter is pulled: treat every socket and test block as energized until proven otherwise;
          never open the secondary of a current transformer that carries current, short it first; check
          voltage and form before a meter goes into a socket. Local codes, your employer's procedures and
          licensed practice decide.
        </p>
      </Notice>
      <div className="row-fields pull-list-filters">
        <Select
          label="Area"
          value={area}
          onChange={(next) => change({ area: next })}
          placeholder="All areas"
          options={programme.areas.map((one) => ({ value: one, label: one }))}
        />
        <Select
          label="Meters"
          value={state}
          onChange={(next) => change({ state: next === "all" ? "all" : "" })}
          options={[
            { value: "open", label: "Still to be tested" },
            { value: "all", label: "The whole sample" },
          ]}
        />
      </div>
      <PullTable programme={programme} area={area} state={state} />
    </div>
  );
}
