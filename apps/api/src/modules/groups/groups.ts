import { Readable } from "node:stream";
import { unitStateNames } from "@sealbook/contract/follow-up";
import type { GroupYear, Programme, Pull } from "@sealbook/contract/groups";
import type { SeedTerms } from "@sealbook/contract/sampling";
import { type FormedGroups, formGroups } from "@sealbook/metrology/sampling/decision/form-groups";
import { planLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { yearlyChange } from "@sealbook/metrology/sampling/decision/yearly-change";
import { csvLine } from "../../platform/csv-line.ts";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { databaseTime } from "../../platform/database-time.ts";
import { addJob } from "../../platform/jobs.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { actorOf, newId, type Source, type Tx } from "../../platform/transaction.ts";
import {
  countsOfProgrammes,
  draw,
  nextSeverities,
  refuseSeedTerms,
  schemeById,
} from "../sampling/sampling.ts";
import { formLot } from "./form-lot.ts";
import { partsOf } from "./parts-of.ts";
import {
  findGroupYears,
  findInventory,
  findLotsOf,
  findMetersOf,
  findOutside,
  findProgramme,
  findProgrammes,
  findPulls,
  insertProgramme,
  lockProgramme,
  moveProgramme,
  moveProgress,
  type PullFilter,
  type Rules,
  type StoredProgramme,
} from "./store.ts";

export { openSecondTry } from "./second-try.ts";

export const formTask = "groups.form";
export const drawTask = "groups.draw";

/** What a scheme tells groups apart by. */
export function rulesOf(scheme: SamplingScheme): Rules {
  const { grouping, jurisdiction } = scheme;
  if (grouping === null) throw new Error("a scheme for groups in service has grouping rules");
  return {
    jurisdiction,
    years: grouping.years !== null,
    firmware: grouping.firmware,
    area: grouping.area,
  };
}

/** The groups that a scheme forms from the inventory now. */
export async function formFromInventory(source: Source, scheme: SamplingScheme): Promise<FormedGroups> {
  const formed = formGroups(await findInventory(source, rulesOf(scheme)), scheme);
  return { ...formed, leftOut: [...(await findOutside(source, scheme.jurisdiction)), ...formed.leftOut] };
}

export async function previewProgramme(database: Database, schemeId: string) {
  const source = reading(database);
  const scheme = await inServiceScheme(source, schemeId);
  const { groups, leftOut } = await formFromInventory(source, scheme.body);
  const shown = [];
  for (const group of groups) {
    const lots = [];
    for (const { series, size } of partsOf(group)) {
      const planned = planLot(scheme.body, size, await nextSeverities(source, scheme, series));
      lots.push({ series, size, sample: planned.kind === "planned" ? planned.plan.n : null });
    }
    const { key, title, size, standing, of, reason } = group;
    shown.push({ key, title, size, standing, lots, of, reason });
  }
  return {
    groups: shown,
    leftOut,
    meters:
      groups.reduce((sum, { size }) => sum + size, 0) + leftOut.reduce((sum, { meters }) => sum + meters, 0),
  };
}

async function inServiceScheme(source: Source, schemeId: string) {
  const scheme = await schemeById(source, schemeId);
  if (scheme === null) throw notFound("sampling scheme");
  if (scheme.body.purpose !== "in-service") {
    throw refusedByRule("/schemeId", `${scheme.code} is for shipments; choose one for groups in service.`);
  }
  return scheme;
}

export async function listProgrammes(
  database: Database,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: Programme[]; next: string | null }> {
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2);
  const source = reading(database);
  const page = toPage(
    await findProgrammes(source, {
      after: key === null ? null : { year: Number(key[0]), id: String(key[1]) },
      limit: query.limit + 1,
    }),
    query.limit,
    (row) => [row.year, row.id],
  );
  return { rows: await withCounts(source, page.rows), next: page.next };
}

export async function getProgramme(source: Source, id: string): Promise<Programme> {
  const found = await findProgramme(source, id);
  if (found === null) throw notFound("programme");
  const [programme] = await withCounts(source, [found]);
  if (programme === undefined) throw notFound("programme");
  return programme;
}

async function withCounts(source: Source, programmes: readonly StoredProgramme[]): Promise<Programme[]> {
  const counts = await countsOfProgrammes(
    source,
    programmes.map(({ id }) => id),
  );
  return programmes.map(({ seedGiven: _, cancelAsked: __, ...programme }) => ({
    ...programme,
    counts: counts.get(programme.id) ?? {
      lots: 0,
      members: 0,
      sample: 0,
      done: 0,
      decided: 0,
      notAccepted: 0,
    },
  }));
}

/** Begins a year's programme: a job forms, plans and lists all its groups. */
export async function createProgramme(
  tx: Tx,
  programme: { id: string; year: number; name: string; schemeId: string; seed: SeedTerms; dueOn: string },
): Promise<Programme> {
  const scheme = await inServiceScheme(tx, programme.schemeId);
  if (!scheme.current) throw refusedByRule("/schemeId", `${scheme.code} has a newer revision; use that one.`);
  await refuseSeedTerms(tx, programme.seed);
  const { id, ...payload } = programme;
  const entryId = await writeEntry(tx, {
    action: "programme.create",
    subjectType: "programme",
    subjectId: id,
    payload,
  });
  try {
    await insertProgramme(tx, { ...programme, schemeCode: scheme.code }, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      `There is a programme of ${programme.year} under ${scheme.code} already; open that one.`,
      { errors: [{ pointer: "/year", detail: "This year has its programme under this scheme." }] },
    );
  }
  await addJob(tx, {
    task: formTask,
    payload: { programmeId: id, actorId: actorOf(tx).id },
    key: `${formTask} ${id}`,
  });
  return await getProgramme(tx, id);
}

/**
 * Forms, plans and lists a programme in the caller's transaction: for loading the demo shop's past, which no request can
 * reach. A lot that a rule refuses ends the loading.
 */
export async function formProgrammeNow(
  tx: Tx,
  programme: { id: string; year: number; name: string; schemeId: string; seed: SeedTerms; dueOn: string },
): Promise<void> {
  const scheme = await inServiceScheme(tx, programme.schemeId);
  const { id, ...payload } = programme;
  const entryId = await writeEntry(tx, {
    action: "programme.create",
    subjectType: "programme",
    subjectId: id,
    payload,
  });
  await insertProgramme(tx, { ...programme, schemeCode: scheme.code }, entryId);
  const stored = await findProgramme(tx, id);
  if (stored === null) throw new Error("the programme was just put on record");
  const { groups, leftOut } = await formFromInventory(tx, scheme.body);
  const seriesOfYear = groups.flatMap(partsOf).map(({ series }) => series);
  let lots = 0;
  for (const group of groups) {
    if (group.standing === "too-small")
      leftOut.push({ reason: `${group.title}: ${group.reason}`, meters: group.size });
    const members = await findMetersOf(tx, rulesOf(scheme.body), group.cells, id);
    for (const part of partsOf(group)) {
      await formLot(tx, stored, scheme, part, seriesOfYear, members.splice(0, part.size));
      lots += 1;
    }
  }
  await moveProgress(tx, id, { done: lots, total: lots }, leftOut);
  const finishId = await writeEntry(tx, {
    action: "programme.finish",
    subjectType: "programme",
    subjectId: id,
    payload: { state: "formed", failure: null, lots, leftOut: leftOut.map((left) => ({ ...left })) },
  });
  await moveProgramme(tx, id, { state: "formed" }, finishId);
}

/** Draws all lists of a programme with one seed in the caller's transaction: for the demo shop's past. */
export async function drawProgrammeNow(tx: Tx, id: string, seed: string): Promise<void> {
  const lots = await findLotsOf(tx, id);
  for (const { list_id } of lots) {
    if (list_id !== null) await draw(tx, list_id, { id: newId(), seed });
  }
  const entryId = await writeEntry(tx, {
    action: "programme.draw",
    subjectType: "programme",
    subjectId: id,
    payload: { seed },
  });
  await moveProgramme(tx, id, { state: "drawn", seed }, entryId);
}

/** Lots of a programme by number. */
export async function lotIdsOf(source: Source, programmeId: string): Promise<string[]> {
  return (await findLotsOf(source, programmeId)).map(({ id }) => id);
}

/** Draws every published list of a programme with one seed, in a job. */
export async function drawProgramme(
  tx: Tx,
  id: string,
  version: number,
  seed: string | null,
): Promise<Programme> {
  const programme = await lockAt(tx, id, version);
  if (programme.state !== "formed") {
    throw new ProblemError("wrong-state", "A programme is drawn once, after its lists are published.");
  }
  if (programme.seed.source === "system") {
    if (seed !== null) throw refusedByRule("/seed", "The operating system gives the seed: leave it out.");
  } else if (seed === null) {
    throw refusedByRule("/seed", "Type the seed that the lists announced.");
  }
  const { notBefore } = programme.seed;
  if (notBefore !== null && new Date(notBefore) > (await databaseTime(tx))) {
    throw refusedByRule("/seed", `The lists say that their seed comes no sooner than ${notBefore}.`);
  }
  const entryId = await writeEntry(tx, {
    action: "programme.draw",
    subjectType: "programme",
    subjectId: id,
    payload: { seed },
  });
  await moveProgramme(tx, id, { state: "drawing", seed, progress: { done: 0, total: null } }, entryId);
  await addJob(tx, {
    task: drawTask,
    payload: { programmeId: id, actorId: actorOf(tx).id },
    key: `${drawTask} ${id}`,
  });
  return await getProgramme(tx, id);
}

/** Asks a programme's job to stop at the next group; what is formed stays. */
export async function cancelProgramme(tx: Tx, id: string, version: number): Promise<Programme> {
  const programme = await lockAt(tx, id, version);
  if (programme.state !== "forming" && programme.state !== "drawing") {
    throw new ProblemError("wrong-state", "No job of this programme is under way.");
  }
  const entryId = await writeEntry(tx, {
    action: "programme.cancel",
    subjectType: "programme",
    subjectId: id,
    payload: {},
  });
  await moveProgramme(tx, id, { cancelAsked: true }, entryId);
  return await getProgramme(tx, id);
}

/** Goes on with a programme whose job ended before its time: with the draw once a seed is given, else with the forming. */
export async function resumeProgramme(tx: Tx, id: string, version: number): Promise<Programme> {
  const programme = await lockAt(tx, id, version);
  if (programme.state !== "cancelled" && programme.state !== "failed") {
    throw new ProblemError("wrong-state", "Only a programme that was cancelled or failed is gone on with.");
  }
  const drawing = programme.seedGiven !== null;
  const entryId = await writeEntry(tx, {
    action: "programme.resume",
    subjectType: "programme",
    subjectId: id,
    payload: { from: programme.state, to: drawing ? "drawing" : "forming" },
  });
  await moveProgramme(tx, id, { state: drawing ? "drawing" : "forming", failure: null }, entryId);
  const task = drawing ? drawTask : formTask;
  await addJob(tx, { task, payload: { programmeId: id, actorId: actorOf(tx).id }, key: `${task} ${id}` });
  return await getProgramme(tx, id);
}

async function lockAt(tx: Tx, id: string, version: number): Promise<StoredProgramme> {
  const programme = await lockProgramme(tx, id);
  if (programme === null) throw notFound("programme");
  if (programme.version !== version) {
    throw new ProblemError("stale", "This programme has moved on since you opened it.", {
      current: await getProgramme(tx, id),
    });
  }
  return programme;
}

// ---------------------------------------------------------------------------------------------------------------
// Pull lists

type PullQuery = { area?: string | undefined; state: "open" | "all" };

export async function listPulls(
  database: Database,
  id: string,
  query: PullQuery & { cursor?: string | undefined; limit: number },
): Promise<{ rows: Pull[]; next: string | null }> {
  const source = reading(database);
  if ((await findProgramme(source, id)) === null) throw notFound("programme");
  const after =
    query.cursor === undefined ? null : (fromCursor(query.cursor, 5).map(String) as PullFilter["after"]);
  const rows = await findPulls(source, id, filterOf(query, after, query.limit + 1));
  return toPage(rows, query.limit, keyOfPull);
}

/** The pull list as CSV, page after page as it is read. */
export async function getPullList(
  database: Database,
  id: string,
  query: PullQuery,
): Promise<{ fileName: string; rows: Readable }> {
  const source = reading(database);
  const programme = await findProgramme(source, id);
  if (programme === null) throw notFound("programme");
  const area = query.area === undefined ? "" : ` ${query.area}`;
  return {
    fileName: `pull list ${programme.year} ${programme.scheme.code}${area}.csv`,
    rows: Readable.from(pullLines(source, id, query), { objectMode: false }),
  };
}

async function* pullLines(source: Source, id: string, query: PullQuery): AsyncGenerator<string, void> {
  yield csvLine([
    "Area",
    "Service point",
    "Address",
    "Utility number",
    "Serial",
    "Form",
    "Lot",
    "Group",
    "Place",
    "State",
    "Due",
  ]);
  let after: PullFilter["after"] = null;
  for (;;) {
    const page: Pull[] = await findPulls(source, id, filterOf(query, after, 500));
    yield page
      .map((pull) =>
        csvLine([
          pull.area ?? "",
          pull.servicePoint ?? "",
          pull.address ?? "",
          pull.utilityNumber,
          pull.serial,
          pull.form,
          pull.lotNumber,
          pull.lotTitle,
          pull.place === null ? "" : String(pull.place),
          unitStateNames[pull.state],
          pull.dueOn ?? "",
        ]),
      )
      .join("");
    const last = page.at(-1);
    if (last === undefined || page.length < 500) return;
    after = keyOfPull(last);
  }
}

function filterOf(query: PullQuery, after: PullFilter["after"], limit: number): PullFilter {
  return { area: query.area ?? null, onlyOpen: query.state === "open", after, limit };
}

function keyOfPull(pull: Pull): [string, string, string, string, string] {
  return [pull.area ?? "", pull.servicePoint ?? "", pull.utilityNumber, pull.meterId, pull.lotId];
}

// ---------------------------------------------------------------------------------------------------------------
// Year against year

export async function listGroupYears(
  database: Database,
  query: {
    cursor?: string | undefined;
    limit: number;
    schemeCode?: string | undefined;
    series?: string | undefined;
  },
): Promise<{ rows: GroupYear[]; next: string | null }> {
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 4);
  const rows = await findGroupYears(reading(database), {
    schemeCode: query.schemeCode ?? null,
    series: query.series ?? null,
    after: key === null ? null : [String(key[0]), String(key[1]), Number(key[2]), String(key[3])],
    limit: query.limit + 1,
  });
  const years = rows.map(
    (row): GroupYear => ({
      series: row.series,
      title: row.title,
      schemeCode: row.scheme_code,
      characteristic: row.characteristic,
      year: row.year,
      lotId: row.lot_id,
      lotNumber: row.lot_number,
      lotSize: row.lot_size,
      n: row.n,
      mean: row.mean,
      s: row.s,
      percentNonconforming: row.percent,
      estimated: row.estimated,
      outcome: row.outcome,
      change:
        row.since_year === null || row.since_year >= row.year
          ? null
          : yearlyChange(
              {
                year: row.since_year,
                mean: row.mean_before,
                s: row.s_before,
                percentNonconforming: row.percent_before,
              },
              { year: row.year, mean: row.mean, s: row.s, percentNonconforming: row.percent },
            ),
    }),
  );
  return toPage(years, query.limit, (row) => [row.series, row.characteristic, row.year, row.lotId]);
}
