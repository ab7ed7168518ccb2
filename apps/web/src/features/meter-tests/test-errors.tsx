import type { Operation } from "@sealbook/contract/operation";
import type { PlanPoint } from "@sealbook/metrology/accuracy/test-terms";
import { Link } from "@tanstack/react-router";
import type { PlacedError, Submission } from "../../api/use-submission.ts";
import { paths } from "../../paths.ts";
import { ErrorSummary } from "../../ui/error-summary.tsx";
import { Notice } from "../../ui/notice.tsx";
import { fieldName } from "./field-name.ts";

/** Why a test was not saved, each error with a way to its field; what was typed stays. */
export function TestErrors<O extends Operation>({
  submission,
  lines,
  points,
  testId,
}: {
  submission: Submission<O>;
  lines: readonly PlacedError[];
  points: readonly Pick<PlanPoint, "key" | "label">[];
  /** Id under which the test was to be recorded. */
  testId: string;
}) {
  const { problem, errors } = submission;
  if (problem === null && errors.length === 0) return null;
  if (problem?.slug === "key-reused") {
    return (
      <Notice tone="bad" title="This test is on record already" isAnnounced>
        <p>
          An earlier attempt to save it arrived, with what stood here then.{" "}
          <Link to={paths.test(testId)}>Open the test on record</Link> and amend it if a figure changed since.
        </p>
      </Notice>
    );
  }
  const title = problem === null ? "Not saved yet. Mend these:" : `${problem.title}. ${problem.detail}`;
  return <ErrorSummary title={title} lines={lines} nameOf={(pointer) => fieldName(pointer, points)} />;
}
