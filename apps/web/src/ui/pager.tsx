import { Button } from "./button.tsx";

/** Fetches the following page of a list by its key, and says how many rows stand above. */
export function Pager({
  shown,
  noun,
  hasMore,
  isFetching,
  onMore,
}: {
  shown: number;
  /** What the rows are, singular and plural: ["meter", "meters"]. */
  noun: readonly [string, string];
  hasMore: boolean;
  isFetching: boolean;
  onMore: () => void;
}) {
  return (
    <div className="row">
      <span className="quiet" aria-live="polite">
        {shown} {shown === 1 ? noun[0] : noun[1]}
        {hasMore ? " so far" : ""}
      </span>
      {hasMore ? (
        <Button onClick={onMore} isPending={isFetching}>
          {isFetching ? "Fetching more" : "More"}
        </Button>
      ) : null}
    </div>
  );
}
