import { type DrawEvent, type DrawUnit, drawEventNames } from "@sealbook/contract/follow-up";
import {
  absenceReasonNames,
  type SamplingCharacteristic,
  samplingCharacteristicNames,
} from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { Link } from "@tanstack/react-router";
import type { KeyboardEvent, ReactNode } from "react";
import { paths } from "../../paths.ts";
import { Button } from "../../ui/button.tsx";
import "../../ui/data-table.css";
import { LocalInstant } from "../local-instant.tsx";
import { PersonName } from "../person-name.tsx";
import { RegistrationPercent } from "../registration-percent.tsx";
import { VerdictMark } from "../verdict-mark.tsx";
import { canTakeBack } from "./can-take-back.ts";
import { canFollowUp } from "./follow-up-keys.ts";
import { shownEvents } from "./shown-events.ts";
import { UnitStateMark } from "./unit-state-mark.tsx";

/** A figure of a test that the table can show. */
export type ShownLoad = Exclude<SamplingCharacteristic, "verdict">;

const figures: Record<ShownLoad, (test: NonNullable<DrawUnit["test"]>) => string | null> = {
  "full-load": (test) => test.fullLoad,
  "light-load": (test) => test.lightLoad,
  "power-factor": (test) => test.powerFactor,
  average: (test) => test.average,
};

/** States in which a drawn meter still waits for its test. */
const loggable: readonly DrawUnit["state"][] = ["waiting", "asked", "pulled", "received"];

/** The drawn meters with follow-up and results. Rows are ticked, and keys act on the ticked rows or the one in focus. */
export function SampleTable({
  units,
  inService,
  loads,
  mayLog,
  chosen,
  onToggle,
  onKey,
  onTakeBack,
}: {
  units: readonly DrawUnit[];
  /** Shows where the meters stand. */
  inService: boolean;
  /** What the scheme judges, one column each. */
  loads: readonly ShownLoad[];
  /** Whether this person logs tests: then a meter without one leads to its entry screen. */
  mayLog: boolean;
  /** Positions that are ticked; null where this person cannot follow up. */
  chosen: ReadonlySet<number> | null;
  onToggle: (position: number) => void;
  /** Hears of every key pressed on a row's tick, with the row. */
  onKey: (event: KeyboardEvent<HTMLInputElement>, row: number) => void;
  /** Asks to take an event back; null where this person cannot follow up. */
  onTakeBack: ((unit: DrawUnit, event: DrawEvent) => void) | null;
}) {
  const caption = "Drawn meters in the order drawn";
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a region that scrolls must be reachable by keyboard.
    <section className="table-region unit-table" aria-label={caption} tabIndex={0}>
      <table className="table">
        <caption className="visually-hidden">{caption}</caption>
        <thead>
          <tr>
            <th scope="col">Place</th>
            <th scope="col">Meter</th>
            <th scope="col">Stands</th>
            {inService ? (
              <th scope="col" className="narrow-hidden">
                Where
              </th>
            ) : null}
            {loads.map((load) => (
              <th key={load} scope="col" className="numeric">
                {samplingCharacteristicNames[load]} %
              </th>
            ))}
            <th scope="col">As found</th>
            <th scope="col" className="narrow-hidden">
              Tester
            </th>
            <th scope="col" className="numeric narrow-hidden medium-hidden">
              Months since test
            </th>
          </tr>
        </thead>
        <tbody>
          {units.map((unit, row) => (
            <tr
              key={unit.position}
              data-quiet={unit.place === null || unit.state === "replaced" ? "true" : undefined}
            >
              <td className="nowrap">
                {chosen !== null && canFollowUp(unit) ? (
                  <label className="choice">
                    <input
                      type="checkbox"
                      data-row={row}
                      checked={chosen.has(unit.position)}
                      onChange={() => onToggle(unit.position)}
                      onKeyDown={(event) => onKey(event, row)}
                    />
                    <span>
                      {unit.place}
                      <span className="visually-hidden">, meter {unit.utilityNumber}</span>
                    </span>
                  </label>
                ) : (
                  (unit.place ?? "spare")
                )}
              </td>
              <th scope="row" className="nowrap">
                <Link to={paths.meter(unit.meterId)}>{unit.utilityNumber}</Link>
                {unit.spare ? <span className="quiet"> spare</span> : null}
              </th>
              <td>
                <UnitStateMark state={unit.state} />
                <FollowUp unit={unit} onTakeBack={onTakeBack} />
              </td>
              {inService ? (
                <td className="narrow-hidden">
                  {[unit.area, unit.servicePoint, unit.address].filter((part) => part !== null).join(", ") ||
                    "–"}
                </td>
              ) : null}
              {loads.map((load) => (
                <td key={load} className="numeric">
                  <RegistrationPercent
                    value={unit.test === null ? null : figures[load](unit.test)}
                    places={3}
                  />
                </td>
              ))}
              <td>
                {unit.test === null ? (
                  mayLog && loggable.includes(unit.state) ? (
                    <Link to={paths.logMeter(unit.meterId)}>
                      Log it<span className="visually-hidden">: meter {unit.utilityNumber}</span>
                    </Link>
                  ) : (
                    <span className="quiet">–</span>
                  )
                ) : (
                  <Link to={paths.test(unit.test.id)}>
                    <VerdictMark verdict={unit.test.verdict} />
                  </Link>
                )}
                {unit.furtherTests.map((test) => (
                  <div key={test.id} className="small quiet">
                    <Link to={paths.test(test.id)}>a further test</Link>, not counted
                  </div>
                ))}
              </td>
              <td className="narrow-hidden nowrap">
                {unit.test === null ? "–" : <PersonName person={unit.test.tester} />}
              </td>
              <td className="numeric narrow-hidden medium-hidden">{unit.monthsSinceLastTest ?? "–"}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** What was said about a meter: what stands last, and struck through what was taken back, with the reason. */
function FollowUp({
  unit,
  onTakeBack,
}: {
  unit: DrawUnit;
  /** Asks to take an event back; null where this person cannot follow up. */
  onTakeBack: ((unit: DrawUnit, event: DrawEvent) => void) | null;
}): ReactNode {
  return shownEvents(unit.events).map((event) =>
    event.takenBack === null ? (
      <div key={event.id} className="small quiet">
        <EventWords event={event} />
        {onTakeBack !== null && canTakeBack(unit, event) ? (
          <>
            {" "}
            <Button kind="quiet" onClick={() => onTakeBack(unit, event)}>
              Take back
              <span className="visually-hidden">
                : {drawEventNames[event.kind]}, meter {unit.utilityNumber}
              </span>
            </Button>
          </>
        ) : null}
      </div>
    ) : (
      <div key={event.id} className="small quiet">
        <s>
          <EventWords event={event} />
        </s>{" "}
        Taken back: {event.takenBack.reason}, <LocalInstant instant={event.takenBack.at} />,{" "}
        <PersonName person={event.takenBack.by} />
      </div>
    ),
  );
}

/** What an event says, by whom, when and why. */
function EventWords({ event }: { event: DrawEvent }): ReactNode {
  const reason = event.reason === null ? "" : `, ${absenceReasonNames[event.reason].toLowerCase()}`;
  return (
    <>
      {drawEventNames[event.kind]}
      {reason}
      {event.note === "" ? "" : `: ${event.note}`}, <LocalInstant instant={event.at} />,{" "}
      <PersonName person={event.by} />
    </>
  );
}
