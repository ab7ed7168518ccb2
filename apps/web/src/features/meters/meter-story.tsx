import "./meter-story.css";
import { type MeterEvent, meterEventNames } from "@sealbook/contract/meters";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { PersonName } from "../../trade/person-name.tsx";
import { placeName } from "../../trade/place-name.ts";
import { Empty } from "../../ui/empty.tsx";

/** Where a meter has been and why, newest first. */
export function MeterStory({ events }: { events: readonly MeterEvent[] }) {
  if (events.length === 0) return <Empty title="Nothing is on record about where this meter has been." />;
  return (
    <ol className="meter-story">
      {events.map((event) => (
        <li key={event.id}>
          <span className="quiet">
            <LocalInstant instant={event.performedAt} />
          </span>
          <div>
            <div>
              <strong>{meterEventNames[event.kind]}</strong>
              {placeOf(event)}
              {event.registerReading === null ? null : <> · reading {event.registerReading} kWh</>}
            </div>
            <div className="quiet small">
              {event.reason === "" ? null : <>{event.reason} · </>}
              <PersonName person={event.recordedBy} /> ·{" "}
              <Link to={paths.ledgerEntry(event.entryId)}>ledger entry</Link>
            </div>
          </div>
        </li>
      ))}
    </ol>
  );
}

function placeOf(event: MeterEvent): string {
  const { place, servicePoint } = event;
  if (servicePoint !== null) return ` · service point ${servicePoint.number}, ${servicePoint.address}`;
  return place === null ? "" : ` · ${placeName(place)}`;
}
