import { ProblemError } from "../api/problem-error.ts";
import { Button } from "../ui/button.tsx";
import { Notice } from "../ui/notice.tsx";

/** Says why something could not be fetched or done, and offers to try again. */
export function ProblemNotice({ error, onRetry }: { error: Error; onRetry?: () => void }) {
  const problem = error instanceof ProblemError ? error : null;
  return (
    <Notice tone="bad" title={problem?.title ?? "Our fault"} isAnnounced>
      <p>{error.message}</p>
      {problem === null || problem.errors.length === 0 ? null : (
        <ul>
          {problem.errors.map((one) => (
            <li key={`${one.pointer} ${one.detail}`}>
              {one.detail}
              {one.rule === undefined ? null : <span className="quiet"> ({one.rule})</span>}
            </li>
          ))}
        </ul>
      )}
      {problem?.requestId == null ? null : <p className="quiet small">Request {problem.requestId}</p>}
      {onRetry === undefined ? null : (
        <div>
          <Button onClick={onRetry}>Try again</Button>
        </div>
      )}
    </Notice>
  );
}
