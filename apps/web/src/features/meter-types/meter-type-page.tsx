import { getMeterType } from "@sealbook/contract/meter-types";
import { circuitNames } from "@sealbook/contract/test-plans";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { Nameplate } from "../../trade/nameplate.tsx";
import { NameplateFindings } from "../../trade/nameplate-findings.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { circuits } from "./circuits.ts";

/** One type of meter. */
export function MeterTypePage() {
  const typeId = useRouteParam("typeId");
  const { data: type } = useSuspenseQuery(operationOptions(getMeterType, { params: { id: typeId } }));
  const mayManage = useMay("meterType.manage");
  const factors = circuits.flatMap((circuit) => {
    const factor = type.circuitFactors[circuit];
    return factor === undefined ? [] : [{ term: circuitNames[circuit], value: factor }];
  });
  return (
    <div className="stack">
      <PageHeader
        title={`${type.maker} ${type.model}`}
        note={`Form ${type.form}, version ${type.version} of the record`}
        actions={
          <>
            <ButtonLink to={paths.meters()} search={{ typeId: type.id }}>
              Meters of this type
            </ButtonLink>
            <ButtonLink to={paths.ledger()} search={{ subjectId: type.id }}>
              Its changes
            </ButtonLink>
            {mayManage ? <ButtonLink to={paths.editType(type.id)}>Change</ButtonLink> : null}
          </>
        }
      />
      {type.retired ? <Notice title="Retired: no new meters of this type are taken in." /> : null}
      <NameplateFindings type={type} />
      <Panel title="Nameplate">
        <Nameplate type={type} />
      </Panel>
      <Panel title="Testing">
        <DefinitionList
          items={[
            { term: "Test plan", value: <Link to={paths.plans()}>{type.testPlanCode}</Link> },
            ...(factors.length === 0
              ? [{ term: "Factors of circuits", value: "as the table of forms knows them" }]
              : factors),
          ]}
        />
      </Panel>
    </div>
  );
}
