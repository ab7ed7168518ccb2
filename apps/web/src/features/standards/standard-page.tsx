import { getStandard } from "@sealbook/contract/standards";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { EntriesLink } from "../../trade/entries-link.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DefinitionList } from "../../ui/definition-list.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { useSearchText } from "../../ui/use-search-text.ts";
import { CalibrationRecord } from "./calibration-record.tsx";
import { ChangeStandard } from "./change-standard.tsx";
import { rankNames } from "./rank-names.ts";
import { RecordCalibration } from "./record-calibration.tsx";
import { StandardStatusMark } from "./standard-status-mark.tsx";

/** One standard with its calibrations; recording and changing happen here, named by the address. */
export function StandardPage() {
  const standardId = useRouteParam("standardId");
  const [search, change] = useSearchText();
  const mayManage = useMay("standard.manage");
  const { data: standard } = useSuspenseQuery({
    ...operationOptions(getStandard, { params: { id: standardId } }),
    refetchOnWindowFocus: false,
  });
  const step = mayManage ? (search.do ?? "") : "";
  const corrects = standard.calibrations.find(({ id }) => id === search.corrects) ?? null;
  const newest = standard.calibrations.find(({ supersededById }) => supersededById === null);
  const done = () => change({ do: "", corrects: "" });
  return (
    <div className="stack">
      <PageHeader
        title={`Standard ${standard.designation}`}
        note={
          <>
            <StandardStatusMark status={standard.status} />
            {standard.dueOn === null ? "" : ` · due on ${standard.dueOn}`}
          </>
        }
        actions={
          mayManage && step === "" ? (
            <>
              <ButtonLink to={paths.standard(standard.id)} search={{ do: "change" }}>
                Change or withdraw
              </ButtonLink>
              <ButtonLink kind="primary" to={paths.standard(standard.id)} search={{ do: "calibrate" }}>
                Record a calibration
              </ButtonLink>
            </>
          ) : undefined
        }
      />
      {step === "change" ? (
        <Panel title="Change or withdraw">
          <ChangeStandard key={standard.id} opened={standard} onDone={done} />
        </Panel>
      ) : (
        <DefinitionList
          items={[
            { term: "Rank", value: rankNames[standard.rank] },
            { term: "Maker", value: standard.maker },
            { term: "Model", value: standard.model },
            { term: "Serial", value: standard.serial },
            { term: "Place", value: standard.place },
            {
              term: "Use",
              value: (
                <Link to={paths.tests()} search={{ standardId: standard.id }}>
                  Tests that leaned on it
                </Link>
              ),
            },
            { term: "Ledger", value: <EntriesLink subjectId={standard.id} /> },
          ]}
        />
      )}
      {step === "calibrate" ? (
        <Panel title={corrects === null ? "Record a calibration" : "Correct a calibration record"}>
          <RecordCalibration
            key={corrects?.id ?? "new"}
            standard={standard}
            corrects={corrects}
            earlier={standard.calibrations.find((one) => one.supersededById === null)}
            onDone={done}
          />
        </Panel>
      ) : null}
      {standard.calibrations.length === 0 ? (
        <Panel title="Calibrations">
          <Empty title="No calibration is on record.">Until one is, no test can lean on this standard.</Empty>
        </Panel>
      ) : (
        standard.calibrations.map((calibration) => (
          <Panel
            key={calibration.id}
            title={`Calibration of ${calibration.calibratedOn}`}
            actions={
              mayManage && step === "" && calibration.supersededById === null ? (
                <Button kind="quiet" onClick={() => change({ do: "calibrate", corrects: calibration.id })}>
                  Correct this record
                </Button>
              ) : undefined
            }
          >
            <CalibrationRecord
              standard={standard}
              calibration={calibration}
              isOpen={calibration.id === newest?.id}
            />
          </Panel>
        ))
      )}
    </div>
  );
}
