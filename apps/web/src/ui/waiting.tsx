/** Stands where something is being fetched. */
export function Waiting({ what = "the record" }: { what?: string }) {
  return (
    <p className="quiet" role="status">
      Fetching {what}…
    </p>
  );
}
