import type { Operation } from "@sealbook/contract/operation";
import type { Submission } from "../api/use-submission.ts";
import { ErrorSummary } from "../ui/error-summary.tsx";

/** The summary of a form that was refused, here or by the service; nothing while there is no refusal. */
export function SubmissionSummary<O extends Operation>({
  submission,
  names,
}: {
  submission: Submission<O>;
  /** Names of fields by pointer: { "/kh": "Kh" }; a place in a list is written as "#": "/points/#/key". */
  names: Readonly<Record<string, string>>;
}) {
  const { problem, errors } = submission;
  if (problem === null && errors.length === 0) return null;
  const title = problem === null ? "Mend these, then try again." : `${problem.title}. ${problem.detail}`;
  return (
    <ErrorSummary
      title={title}
      lines={errors}
      nameOf={(pointer) => names[pointer] ?? nameOfListed(pointer, names)}
    />
  );
}

function nameOfListed(pointer: string, names: Readonly<Record<string, string>>): string {
  const name = names[pointer.replace(/\/\d+(?=\/|$)/g, "/#")];
  if (name === undefined) return "";
  const place = /\/(\d+)/.exec(pointer);
  return place === null ? name : `${name}, line ${Number(place[1]) + 1}`;
}
