import type { Readable } from "node:stream";
import type { StoredFile } from "@sealbook/contract/files";
import {
  type addImport as addImportOperation,
  type Import,
  type ImportKind,
  type ImportMapping,
  type ImportMappingBody,
  type ImportProblem,
  importKindNames,
  importKindPermissions,
} from "@sealbook/contract/imports";
import type { BodyOf } from "@sealbook/contract/operation";
import { may } from "@sealbook/contract/permissions";
import type { CanonicalValue } from "@sealbook/evidence/canonical-json";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { addJob } from "../../platform/jobs.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import { refuseLimited } from "../../platform/refuse-elsewhere.ts";
import { actorOf, type Tx } from "../../platform/transaction.ts";
import { getFileView, readFileStream } from "../files/files.ts";
import { lockFormingShipment } from "../shipments/shipments.ts";
import { checkMapping } from "./check-mapping.ts";
import { layOutColumns } from "./lay-out-columns.ts";
import { type FileRecord, readRecords, type Separator } from "./read-records.ts";
import {
  askCancel,
  findImport,
  findImportOfContent,
  findImports,
  findMapping,
  findMappings,
  findProblems,
  insertImport,
  insertMapping,
  lockImport,
  lockMapping,
  startCheck,
  startRun,
  updateMapping,
} from "./store.ts";
import { writeSetAsideRows } from "./write-set-aside-rows.ts";

const sampleRows = 5;
const mostColumns = 300;
const separators: readonly Separator[] = [",", ";", "\t", "|"];

/** Names of the jobs that imports.ts asks for and jobs.ts does. */
export const checkTask = "imports.check";
export const runTask = "imports.run";

export async function listImports(
  database: Database,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: Import[]; next: string | null }> {
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2).map(String);
  const after = key === null ? null : { createdAt: key[0] ?? "", id: key[1] ?? "" };
  const rows = await findImports(reading(database), after, query.limit + 1);
  return toPage(rows, query.limit, (row) => [row.createdAt, row.id]);
}

export async function getImport(database: Database, id: string): Promise<Import> {
  const found = await findImport(reading(database), id);
  if (found === null) throw notFound("import");
  return found;
}

/** Takes in a kept file: its headings and first rows. The same content again gives the import on record. */
export async function addImport(
  tx: Tx,
  database: Database,
  body: BodyOf<typeof addImportOperation>,
): Promise<Import> {
  const added = { ...body, lotId: body.kind === "shipment-meters" ? body.lotId : null };
  refuseUnlessPermitted(tx, added.kind);
  const file = await getFileView(tx, added.fileId);
  if (!file.mediaType.startsWith("text/")) {
    throw refusedByRule("/fileId", "This file is no text; save it as CSV in UTF-8.");
  }
  const onRecord = await findImportOfContent(tx, added.kind, file.sha256, added.lotId);
  if (onRecord !== null) return onRecord;
  if (added.lotId !== null) await lockFormingShipment(tx, added.lotId);

  const head = await readHead(database, file);
  if (head.headings.length > mostColumns || head.headings.every((heading) => heading.trim() === "")) {
    throw refusedByRule(
      "/fileId",
      "The first line of this file holds no headings; put the columns' names there.",
    );
  }
  const entryId = await writeEntry(tx, {
    action: "import.add",
    subjectType: "import",
    subjectId: added.id,
    payload: { kind: added.kind, lotId: added.lotId, fileId: file.id, sha256: file.sha256 },
  });
  try {
    await insertImport(tx, { ...added, sha256: file.sha256, ...head }, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("unavailable", "The same file is being taken in at this moment; try again.");
  }
  return await importNow(tx, added.id);
}

/** Headings and first rows as they stand, cut by the separator that makes most cells of the first line. */
async function readHead(
  database: Database,
  file: StoredFile,
): Promise<{ headings: readonly string[]; sample: (readonly string[])[] }> {
  let best: (readonly string[])[] = [];
  for (const separator of separators) {
    const rows: (readonly string[])[] = [];
    for await (const record of recordsOf(database, file, separator)) {
      rows.push(record.fields);
      if (rows.length > sampleRows) break;
    }
    if ((rows[0]?.length ?? 0) > (best[0]?.length ?? 0)) best = rows;
  }
  const [headings = [], ...sample] = best;
  return { headings, sample };
}

/** The records of a kept file, headings first. */
export function recordsOf(
  database: Database,
  file: StoredFile,
  separator: Separator,
): AsyncGenerator<FileRecord> {
  return readRecords(readFileStream(database, file), separator);
}

/** Asks for a dry run by a mapping. The import keeps the mapping as it is now. */
export async function checkImport(
  tx: Tx,
  database: Database,
  id: string,
  mappingId: string,
): Promise<Import> {
  const found = await lockImport(tx, id);
  if (found === null) throw notFound("import");
  refuseUnlessPermitted(tx, found.kind);
  refuseWhileUnderWay(found);
  const mapping = await findMapping(tx, mappingId);
  if (mapping === null) throw notFound("mapping");
  if (mapping.body.kind !== found.kind) {
    throw refusedByRule(
      "/mappingId",
      `${mapping.name} is a mapping for files of another kind: ${importKindNames[mapping.body.kind]}. Choose one for this kind: ${importKindNames[found.kind]}.`,
    );
  }
  const layout = layOutColumns(await headingsOf(database, found, mapping.body), mapping.body);
  if (layout.kind === "refused") throw refusedByRule("/mappingId", layout.detail);
  await startCheck(tx, id, mapping);
  await addJob(tx, {
    task: checkTask,
    payload: { importId: id, actorId: actorOf(tx).id },
    key: `import:${id}`,
  });
  return await importNow(tx, id);
}

/** Headings of an import's file as its mapping's separator cuts them. */
export async function headingsOf(
  database: Database,
  { file }: Pick<Import, "file">,
  mapping: Pick<ImportMappingBody, "separator">,
): Promise<readonly string[]> {
  for await (const record of recordsOf(database, file, mapping.separator)) return record.fields;
  return [];
}

/** Asks for the good rows of the dry run to be put in, as the person who asks. */
export async function runImport(tx: Tx, id: string): Promise<Import> {
  const found = await lockImport(tx, id);
  if (found === null) throw notFound("import");
  refuseUnlessPermitted(tx, found.kind);
  refuseLimited(tx, "an import");
  refuseWhileUnderWay(found);
  if (found.state !== "checked" || found.mapping === null) {
    throw new ProblemError(
      "wrong-state",
      "Only what a dry run has looked at can go in; ask for a dry run first.",
    );
  }
  const entryId = await writeEntry(tx, {
    action: "import.run",
    subjectType: "import",
    subjectId: id,
    payload: {
      sha256: found.file.sha256,
      mappingId: found.mapping.id,
      mapping: found.mapping.body as unknown as CanonicalValue,
      rowsGood: found.rowsGood,
      rowsAlready: found.rowsAlready,
      rowsBad: found.rowsBad,
    },
  });
  await startRun(tx, id, entryId);
  await addJob(tx, {
    task: runTask,
    payload: { importId: id, actorId: actorOf(tx).id },
    key: `import:${id}`,
  });
  return await importNow(tx, id);
}

/** Asks the step under way to stop after the rows in hand. */
export async function cancelImport(tx: Tx, id: string): Promise<Import> {
  const found = await lockImport(tx, id);
  if (found === null) throw notFound("import");
  refuseUnlessPermitted(tx, found.kind);
  if (found.state !== "checking" && found.state !== "running") {
    throw new ProblemError(
      "wrong-state",
      "Nothing of this import is under way, so there is nothing to stop.",
    );
  }
  if (found.cancelAsked) return found;
  const entryId = await writeEntry(tx, {
    action: "import.cancel",
    subjectType: "import",
    subjectId: id,
    payload: { state: found.state, rowsDone: found.rowsDone },
  });
  await askCancel(tx, id, entryId);
  return await importNow(tx, id);
}

export async function listImportProblems(
  database: Database,
  id: string,
  query: { cursor?: string | undefined; limit: number },
): Promise<{ rows: ImportProblem[]; next: string | null }> {
  await getImport(database, id);
  const key = query.cursor === undefined ? null : fromCursor(query.cursor, 2).map(Number);
  const after = key === null ? null : { rowNumber: key[0] ?? 0, ordinal: key[1] ?? 0 };
  const found = await findProblems(reading(database), id, after, query.limit + 1);
  return toPage(found, query.limit, (row) => [row.rowNumber, row.ordinal]);
}

/** The rows set aside as a CSV file that can be mended and sent again, written as it is read. */
export async function getSetAsideRows(
  database: Database,
  id: string,
): Promise<{ fileName: string; rows: Readable }> {
  const found = await getImport(database, id);
  const separator = found.mapping?.body.separator ?? ",";
  const rows = writeSetAsideRows({
    records: recordsOf(database, found.file, separator),
    separator,
    problemsAfter: (after) => findProblems(reading(database), id, after, 500),
  });
  return { fileName: `set-aside-${found.file.name.replace(/\.[A-Za-z0-9]{1,8}$/, "")}.csv`, rows };
}

export async function listImportMappings(
  database: Database,
  query: { kind?: ImportKind | undefined; cursor?: string | undefined; limit: number },
): Promise<{ rows: ImportMapping[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const rows = await findMappings(reading(database), query.kind ?? null, after, query.limit + 1);
  return toPage(rows, query.limit, (row) => [row.name]);
}

export async function createImportMapping(
  tx: Tx,
  mapping: Pick<ImportMapping, "id" | "name" | "body">,
): Promise<ImportMapping> {
  refuseUnlessPermitted(tx, mapping.body.kind);
  refuseUselessMapping(mapping.body);
  await orNameTaken(mapping.name, async () => insertMapping(tx, mapping, await saveEntry(tx, mapping)));
  return await mappingNow(tx, mapping.id);
}

export async function changeImportMapping(
  tx: Tx,
  id: string,
  version: number,
  change: Pick<ImportMapping, "name" | "body">,
): Promise<ImportMapping> {
  const current = await lockMapping(tx, id);
  if (current === null) throw notFound("mapping");
  if (current.version !== version) {
    throw new ProblemError("stale", "Someone changed this mapping since you opened it.", { current });
  }
  refuseUnlessPermitted(tx, current.body.kind);
  if (change.body.kind !== current.body.kind) {
    throw refusedByRule("/body/kind", "A mapping stays one for its kind of file; make a new one instead.");
  }
  refuseUselessMapping(change.body);
  const mapping = { id, ...change };
  await orNameTaken(change.name, async () => updateMapping(tx, mapping, await saveEntry(tx, mapping)));
  return await mappingNow(tx, id);
}

/** Besides the permission to import at all, everyone needs that for what the file puts into the book. */
function refuseUnlessPermitted(tx: Tx, kind: ImportKind): void {
  if (may(actorOf(tx).role, importKindPermissions[kind])) return;
  throw new ProblemError(
    "not-permitted",
    `Your role may not do this for files of this kind: ${importKindNames[kind]}.`,
  );
}

function refuseUselessMapping(body: ImportMappingBody): void {
  const errors = checkMapping(body);
  const [first] = errors;
  if (first !== undefined) throw new ProblemError("refused-by-rule", first.detail, { errors });
}

async function saveEntry(tx: Tx, mapping: Pick<ImportMapping, "id" | "name" | "body">): Promise<string> {
  return await writeEntry(tx, {
    action: "importMapping.save",
    subjectType: "importMapping",
    subjectId: mapping.id,
    payload: { name: mapping.name, body: mapping.body as unknown as CanonicalValue },
  });
}

async function orNameTaken(name: string, write: () => Promise<void>): Promise<void> {
  try {
    await write();
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError("already-exists", `A mapping named ${name} is on record; choose another name.`, {
      errors: [{ pointer: "/name", detail: "This name is taken." }],
    });
  }
}

function refuseWhileUnderWay(found: Import): void {
  if (found.state === "checking" || found.state === "running") {
    throw new ProblemError("wrong-state", "A step of this import is under way; wait for its end or stop it.");
  }
}

async function importNow(tx: Tx, id: string): Promise<Import> {
  const found = await findImport(tx, id);
  if (found === null) throw notFound("import");
  return found;
}

async function mappingNow(tx: Tx, id: string): Promise<ImportMapping> {
  const found = await findMapping(tx, id);
  if (found === null) throw notFound("mapping");
  return found;
}
