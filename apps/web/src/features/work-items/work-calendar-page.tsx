import "./work-calendar.css";
import { dueCalendar, dueKindNames, dueKindPlurals, dueKinds } from "@sealbook/contract/due";
import { keepPreviousData, useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import type { CallReply } from "../../api/call.ts";
import { operationOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Button } from "../../ui/button.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useSearchText } from "../../ui/use-search-text.ts";
import { Waiting } from "../../ui/waiting.tsx";
import { DueFilters, type DueSearch, dueFilterOf } from "./due-filters.tsx";
import { monthAfter, monthWeeks } from "./month-weeks.ts";

const weekdays = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
const monthName = new Intl.DateTimeFormat("en", { month: "long", year: "numeric", timeZone: "UTC" });

/** A month of due work: each day says how much of what falls due, and leads to its list. */
export function WorkCalendarPage() {
  const [search, change] = useSearchText();
  const { today } = useShop();
  const month = /^\d{4}-(0[1-9]|1[0-2])$/.test(search.month ?? "") ? (search.month ?? "") : today.slice(0, 7);
  const filter = dueFilterOf(search);
  const calendar = useQuery({
    ...operationOptions(dueCalendar, { query: { ...filter, month } }),
    placeholderData: keepPreviousData,
  });
  const name = monthName.format(new Date(`${month}-01T00:00:00Z`));
  return (
    <div className="stack">
      <PageHeader
        title={`Work in ${name}`}
        actions={
          <ButtonLink to={paths.work()} search={{ ...filter }}>
            List
          </ButtonLink>
        }
      />
      <DueFilters search={search} change={change} />
      <div className="row">
        <Button onClick={() => change({ month: monthAfter(month, -1) })}>Month before</Button>
        <Button onClick={() => change({ month: "" })}>This month</Button>
        <Button onClick={() => change({ month: monthAfter(month, 1) })}>Month after</Button>
        {calendar.data === undefined ? null : (
          <Late late={calendar.data.late} today={calendar.data.today} filter={filter} />
        )}
      </div>
      {calendar.error === null ? null : (
        <ProblemNotice error={calendar.error} onRetry={() => void calendar.refetch()} />
      )}
      {calendar.data === undefined ? (
        calendar.error === null ? (
          <Waiting what="the calendar" />
        ) : null
      ) : (
        <Month month={month} name={name} calendar={calendar.data} filter={filter} />
      )}
    </div>
  );
}

type Calendar = CallReply<typeof dueCalendar>;

function Late({ late, today, filter }: { late: Calendar["late"]; today: string; filter: DueSearch }) {
  if (late.count === 0) return <span className="quiet">Nothing is late.</span>;
  const yesterday = new Date(Date.parse(`${today}T00:00:00Z`) - 86_400_000).toISOString().slice(0, 10);
  return (
    <Link to={paths.work()} search={{ ...filter, to: yesterday }}>
      {late.more ? `More than ${late.count.toLocaleString("en")}` : late.count.toLocaleString("en")} late
    </Link>
  );
}

function Month({
  month,
  name,
  calendar: { days, today },
  filter,
}: {
  month: string;
  name: string;
  calendar: Calendar;
  filter: DueSearch;
}) {
  return (
    <table className="calendar">
      <caption className="visually-hidden">Due work in {name}</caption>
      <thead>
        <tr>
          {weekdays.map((weekday) => (
            <th key={weekday} scope="col">
              {weekday}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {monthWeeks(month).map((week) => (
          <tr key={week.find((day) => day !== null)}>
            {week.map((day, index) => {
              const due =
                day === null
                  ? []
                  : dueKinds.flatMap((kind) => days.filter((one) => one.on === day && one.kind === kind));
              return (
                <td key={weekdays[index]} data-today={day === today} data-empty={due.length === 0}>
                  {day === null ? null : <Day day={day} isToday={day === today} due={due} filter={filter} />}
                </td>
              );
            })}
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Day({
  day,
  isToday,
  due,
  filter,
}: {
  day: string;
  isToday: boolean;
  due: Calendar["days"];
  filter: DueSearch;
}) {
  return (
    <>
      <div className="calendar-day">
        <time dateTime={day}>{Number(day.slice(8))}</time>
        {isToday ? ", today" : ""}
      </div>
      <ul>
        {due.map(({ count, kind }) => (
          <li key={kind}>
            <Link to={paths.work()} search={{ ...filter, kind, from: day, to: day }}>
              {count.toLocaleString("en")}{" "}
              {count === 1 ? dueKindNames[kind].toLowerCase() : dueKindPlurals[kind]}
              <span className="visually-hidden"> due on {day}</span>
            </Link>
          </li>
        ))}
      </ul>
    </>
  );
}
