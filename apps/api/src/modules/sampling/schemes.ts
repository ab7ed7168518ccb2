import type { Scheme } from "@sealbook/contract/sampling-schemes";
import { canonicalJson } from "@sealbook/evidence/canonical-json";
import { inDecimals } from "@sealbook/metrology/in-decimals";
import { planLot } from "@sealbook/metrology/sampling/decision/plan-lot";
import type { SamplingScheme } from "@sealbook/metrology/sampling/decision/sampling-scheme";
import { fromCursor, toPage } from "../../platform/cursor.ts";
import type { Database } from "../../platform/database.ts";
import { isUniqueViolation } from "../../platform/database-errors.ts";
import { writeEntry } from "../../platform/ledger.ts";
import { notFound, ProblemError, refusedByRule } from "../../platform/problem-error.ts";
import { reading } from "../../platform/reading.ts";
import type { Source, Tx } from "../../platform/transaction.ts";
import { profileByKey } from "../profiles/profiles.ts";
import { findCurrentSchemes, findRevisions, findScheme, insertScheme } from "./scheme-store.ts";

export async function listSchemes(
  database: Database,
  query: { cursor?: string | undefined; limit: number; purpose?: string | undefined },
): Promise<{ rows: Scheme[]; next: string | null }> {
  const after = query.cursor === undefined ? null : String(fromCursor(query.cursor, 1)[0]);
  const rows = await findCurrentSchemes(reading(database), {
    purpose: query.purpose ?? null,
    after,
    limit: query.limit + 1,
  });
  return toPage(rows, query.limit, (row) => [row.code]);
}

export async function getScheme(database: Database, id: string) {
  const scheme = await findScheme(reading(database), id);
  if (scheme === null) throw notFound("sampling scheme");
  const revisions = await findRevisions(reading(database), scheme.code);
  return {
    ...scheme,
    revisions: revisions.map(({ id: revisionId, code, revision, name }) => ({
      id: revisionId,
      code,
      revision,
      name,
    })),
  };
}

/** Adds a scheme or the next revision of one; revisions count up without gaps. */
export async function addScheme(
  tx: Tx,
  scheme: {
    id: string;
    code: string;
    revision: number;
    name: string;
    body: SamplingScheme;
    reason: string;
  },
): Promise<Scheme> {
  await refuseUnusable(tx, scheme.body);
  const [newest] = await findRevisions(tx, scheme.code);
  const expected = (newest?.revision ?? 0) + 1;
  if (scheme.revision !== expected) {
    throw new ProblemError(
      "already-exists",
      `The next revision of ${scheme.code} is ${expected}; someone may have added one since you opened it.`,
      {
        errors: [{ pointer: "/revision", detail: `Must be ${expected}.` }],
        ...(newest === undefined ? {} : { current: newest }),
      },
    );
  }
  if (newest !== undefined && newest.body.purpose !== scheme.body.purpose) {
    throw refusedByRule(
      "/body/purpose",
      "A revision keeps its scheme's purpose; give the new one a code of its own.",
    );
  }
  const entryId = await writeEntry(tx, {
    action: "samplingScheme.add",
    subjectType: "samplingScheme",
    subjectId: scheme.id,
    reason: scheme.reason,
    payload: {
      code: scheme.code,
      revision: scheme.revision,
      name: scheme.name,
      body: inDecimals(scheme.body),
    },
  });
  try {
    await insertScheme(tx, { ...scheme, body: canonicalJson(inDecimals(scheme.body)) }, entryId);
  } catch (error) {
    if (!isUniqueViolation(error)) throw error;
    throw new ProblemError(
      "already-exists",
      `Revision ${scheme.revision} of ${scheme.code} was added by someone else at this moment.`,
      { errors: [{ pointer: "/revision", detail: "This revision was just taken." }] },
    );
  }
  const added = await findScheme(tx, scheme.id);
  if (added === null) throw notFound("sampling scheme");
  return added;
}

/** A scheme whose level or AQL its standard does not have would fail at the first lot; it is refused at once. */
async function refuseUnusable(tx: Tx, scheme: SamplingScheme): Promise<void> {
  const trial = planLot(scheme, Math.max(scheme.lotSize.min, Math.min(scheme.lotSize.max ?? 5000, 5000)), {});
  if (trial.kind === "refused") throw refusedByRule("/body/plan", trial.sentence, scheme.source);
  const { min, max } = scheme.lotSize;
  if (scheme.purpose === "in-service" && max !== null && max < 2 * min) {
    throw refusedByRule(
      "/body/lotSize/max",
      `The greatest lot must be at least twice the least, ${2 * min}: a group just above it could not be split into lots that are large enough.`,
    );
  }
  if (scheme.jurisdiction !== null && (await profileByKey(tx, scheme.jurisdiction)) === null) {
    throw refusedByRule("/body/jurisdiction", `There is no rule profile ${scheme.jurisdiction}.`);
  }
}

/** A revision of a scheme by its id, or null. */
export async function schemeById(source: Source, id: string): Promise<Scheme | null> {
  return await findScheme(source, id);
}
