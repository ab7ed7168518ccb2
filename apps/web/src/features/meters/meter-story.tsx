import "./meter-story.css";
import { getMeterStory, type StoryEvent, type StoryItem } from "@sealbook/contract/meter-events";
import type { Meter } from "@sealbook/contract/meters";
import { useInfiniteQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { useState } from "react";
import { pagesOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { Empty } from "../../ui/empty.tsx";
import { formatLocalDate } from "../../ui/local-time.ts";
import { Pager } from "../../ui/pager.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import { storySentence } from "./story-sentence.ts";
import { TakeBackEventDialog } from "./take-back-event-dialog.tsx";

/** What happened to a meter, newest first: its moves, its tests, its legal holds. */
export function MeterStory({ meter }: { meter: Meter }) {
  const story = useInfiniteQuery(
    pagesOptions(getMeterStory, { params: { id: meter.id }, query: { limit: 50 } }),
  );
  const [takingBack, setTakingBack] = useState<StoryEvent | null>(null);
  if (story.data === undefined) {
    if (story.error !== null)
      return <ProblemNotice error={story.error} onRetry={() => void story.refetch()} />;
    return <Waiting what="the story" />;
  }
  const items = story.data.pages.flatMap(({ rows }) => rows);
  if (items.length === 0) return <Empty title="Nothing is on record about this meter yet." />;
  return (
    <div className="stack-tight">
      <ol className="meter-story">
        {items.map((item, index) => (
          <li key={`${item.kind} ${item.id}`}>
            <span className="quiet">
              <LocalInstant instant={item.at} />
            </span>
            <StoryLine
              item={item}
              dials={meter.type.registerDials}
              // What came first brought the meter into the book, and stays; so does all while a hold stands.
              onTakeBack={
                meter.holds.length > 0 || (index === items.length - 1 && !story.hasNextPage)
                  ? null
                  : setTakingBack
              }
            />
          </li>
        ))}
      </ol>
      <Pager
        shown={items.length}
        noun={["entry", "entries"]}
        hasMore={story.hasNextPage}
        isFetching={story.isFetchingNextPage}
        onMore={() => void story.fetchNextPage()}
      />
      {takingBack === null ? null : (
        <TakeBackEventDialog meter={meter} event={takingBack} onDone={() => setTakingBack(null)} />
      )}
    </div>
  );
}

function StoryLine({
  item,
  dials,
  onTakeBack,
}: {
  item: StoryItem;
  dials: number;
  onTakeBack: ((event: StoryEvent) => void) | null;
}) {
  const { timeZone } = useShop();
  const mayMove = useMay("meter.move");
  const sentence = storySentence(item, { dials, dateOf: (instant) => formatLocalDate(instant, timeZone) });
  const event = item.kind === "event" ? item : null;
  const back = event?.takenBackBy ?? null;
  const mayTakeBack =
    mayMove && onTakeBack !== null && event !== null && event.event !== "take-back" && back === null;
  return (
    <div>
      <div>{back === null ? sentence : <s>{sentence}</s>}</div>
      {back === null ? null : (
        <div>
          Taken back on <LocalInstant instant={back.at} /> by <PersonName person={back.by} />: {back.reason}
        </div>
      )}
      <div className="quiet small story-links">
        {event === null || event.reason === "" ? null : <span>{event.reason}</span>}
        {item.kind === "test" ? <Link to={paths.test(item.id)}>test</Link> : null}
        {event?.move == null || event.move.meters < 2 ? null : (
          <Link to={paths.meterMove(event.move.id)}>with {event.move.meters - 1} more</Link>
        )}
        <Link to={paths.ledgerEntry(item.entryId)}>ledger entry</Link>
        {mayTakeBack && onTakeBack !== null && event !== null ? (
          <Button kind="quiet" onClick={() => onTakeBack(event)}>
            Take back
          </Button>
        ) : null}
      </div>
    </div>
  );
}
