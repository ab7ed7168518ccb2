import { useShop } from "../api/use-shop.ts";
import { formatInstant } from "../ui/local-time.ts";

/** An instant in the shop's own time, "2026-03-02 14:05". */
export function LocalInstant({ instant }: { instant: string }) {
  const { timeZone } = useShop();
  return (
    <time dateTime={instant} className="nowrap" title={timeZone}>
      {formatInstant(instant, timeZone)}
    </time>
  );
}
