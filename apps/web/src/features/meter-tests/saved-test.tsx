import { getMeterTest, getTestCertificate } from "@sealbook/contract/meter-tests";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";
import { paths } from "../../paths.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { RegistrationPercent } from "../../trade/registration-percent.tsx";
import { VerdictMark } from "../../trade/verdict-mark.tsx";
import { Notice } from "../../ui/notice.tsx";
import { Waiting } from "../../ui/waiting.tsx";

/** The test that was just saved: its verdict, the way to its page and its certificate. */
export function SavedTest({ testId }: { testId: string }) {
  const saved = useQuery(operationOptions(getMeterTest, { params: { id: testId } }));
  if (saved.error !== null) return <ProblemNotice error={saved.error} onRetry={() => void saved.refetch()} />;
  if (saved.data === undefined) return <Waiting what="the saved test" />;
  const test = saved.data;
  return (
    <Notice title={`Saved: meter ${test.utilityNumber}`} isAnnounced>
      <div className="row">
        <span>
          As found <VerdictMark verdict={test.asFound} />
        </span>
        {test.averageAsFound === null ? null : (
          <span>
            average <RegistrationPercent value={test.averageAsFound} places={3} /> %
          </span>
        )}
        {test.asLeft === null ? null : (
          <span>
            · As left <VerdictMark verdict={test.asLeft} />
          </span>
        )}
        <span>· {test.signed ? "signed" : "waits in your tray to be signed"}</span>
      </div>
      <div className="row">
        <Link to={paths.test(test.id)}>Open the test</Link>
        <a href={operationUrl(getTestCertificate, { id: test.id })} target="_blank" rel="noreferrer">
          Certificate (PDF)
        </a>
      </div>
    </Notice>
  );
}
