import "./test-page.css";
import { getMeterTest, getTestCertificate, type MeterTest } from "@sealbook/contract/meter-tests";
import { testReasonNames } from "@sealbook/contract/work-items";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { useAccount } from "../../api/use-account.ts";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { VerdictMark } from "../../trade/verdict-mark.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { formFromTest } from "./form-from-test.ts";
import { mayAmend } from "./may-amend.ts";
import { RecordedCircumstances } from "./recorded-circumstances.tsx";
import { RecordedEvidence } from "./recorded-evidence.tsx";
import { RecordedPass } from "./recorded-pass.tsx";
import { RecordedRules } from "./recorded-rules.tsx";
import { RecordedStandard } from "./recorded-standard.tsx";

/** One test: every figure with its formula and source, the standard, the rules, who signed, and the ledger's proof. */
export function TestPage() {
  const testId = useRouteParam("testId");
  const { data: test } = useSuspenseQuery(operationOptions(getMeterTest, { params: { id: testId } }));
  const { timeZone } = useShop();
  const account = useAccount();
  const mayAmendTests = useMay("meterTest.amend");
  const form = formFromTest(test, test.id, timeZone);
  const { asFound, asLeft } = test.evaluation;
  return (
    <div className="stack">
      <PageHeader
        title={`Test of meter ${test.utilityNumber}`}
        note={
          <>
            <LocalInstant instant={test.performedAt} /> ·{" "}
            {test.reasons.map((reason) => testReasonNames[reason]).join(", ")} ·{" "}
            <Link to={paths.meter(test.meterId)}>
              {test.meter.maker} {test.meter.model}, form {test.meter.form}, serial {test.meter.serial}
            </Link>
          </>
        }
        actions={
          <>
            {mayAmendTests && test.supersededById === null && mayAmend(account, test) ? (
              <ButtonLink to={paths.amendTest(test.id)}>Amend</ButtonLink>
            ) : null}
            {test.outcome.kind === "withdrawn" ? null : (
              <a
                className="button button-primary"
                href={operationUrl(getTestCertificate, { id: test.id })}
                target="_blank"
                rel="noreferrer"
              >
                Certificate (PDF)
              </a>
            )}
          </>
        }
      />
      <Banners test={test} isOwn={test.tester?.id === account.id} />
      <p className="test-verdict">
        {test.outcome.kind === "tested" ? "As found " : ""}
        <VerdictMark verdict={test.asFound} />
        {test.asLeft === null ? null : (
          <>
            {" "}
            · as left <VerdictMark verdict={test.asLeft} />
          </>
        )}
      </p>
      {asFound === null ? null : (
        <RecordedPass title="As found" pass="asFound" form={form.asFound} test={test} evaluation={asFound} />
      )}
      {asLeft === null || form.asLeft !== "entered" ? null : (
        <RecordedPass
          title="As left"
          pass="asLeftPass"
          form={form.asLeftPass}
          test={test}
          evaluation={asLeft}
        />
      )}
      <div className="columns">
        <Panel title="On the sheet">
          <RecordedCircumstances test={test} />
        </Panel>
        {test.standardInUse === null ? null : (
          <Panel title="Standard">
            <RecordedStandard test={test} standardInUse={test.standardInUse} />
          </Panel>
        )}
        <Panel title="Rules">
          <RecordedRules test={test} />
        </Panel>
        <Panel title="Signed and sealed">
          <RecordedEvidence test={test} />
        </Panel>
      </div>
    </div>
  );
}

function Banners({ test, isOwn }: { test: MeterTest; isOwn: boolean }) {
  return (
    <>
      {test.supersededById === null ? null : (
        <Notice tone="warn" title="This record has been superseded">
          <p>
            It stays readable as it was.{" "}
            <Link to={paths.test(test.supersededById)}>Open the record that holds now</Link>.
          </p>
        </Notice>
      )}
      {test.supersedesId === null ? null : (
        <Notice title="This record amends an earlier one">
          <p>
            Reason: {test.amendmentReason}.{" "}
            <Link to={paths.test(test.supersedesId)}>Open the record it supersedes</Link>.
          </p>
        </Notice>
      )}
      {isOwn && !test.signed && test.supersededById === null ? (
        <Notice tone="warn">
          <p>
            {test.outcome.kind === "withdrawn" ? "This withdrawal" : "This test"} waits for your signature:{" "}
            <Link to={paths.tray()}>open the tray</Link>.
          </p>
        </Notice>
      ) : null}
    </>
  );
}
