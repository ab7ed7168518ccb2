import type { Database } from "../../platform/database.ts";
import type { Prisma } from "../../platform/prisma/client.ts";
import type { Source } from "../../platform/transaction.ts";

const withActor = { actor: { include: { name: true } } } satisfies Prisma.LedgerEntryInclude;

export type LedgerRow = Prisma.LedgerEntryGetPayload<{ include: typeof withActor }>;

/** Where local days of the shop begin and end: the first moment of one date, the first moment after another. */
export async function findBoundsOfDays(
  source: Source,
  { from, to }: { from?: string | undefined; to?: string | undefined },
): Promise<{ since: Date | null; until: Date | null }> {
  if (from === undefined && to === undefined) return { since: null, until: null };
  const [bounds] = await source.query<{ since: Date | null; until: Date | null }>(
    `SELECT $1::date::timestamp AT TIME ZONE time_zone AS since,
       ($2::date + 1)::timestamp AT TIME ZONE time_zone AS until
     FROM shop`,
    [from ?? null, to ?? null],
  );
  if (bounds === undefined) throw new Error("there is no shop yet");
  return bounds;
}

/** Entries newest first, each filter backed by an index that ends in id. */
export async function findEntries(
  database: Database,
  filter: {
    subjectId?: string | undefined;
    actorId?: string | undefined;
    action?: string | undefined;
    /** Moments: at or after the first, before the second. */
    since: Date | null;
    until: Date | null;
    before: string | null;
    limit: number;
  },
): Promise<LedgerRow[]> {
  return await database.prisma.ledgerEntry.findMany({
    where: {
      ...(filter.subjectId === undefined ? {} : { subjectId: filter.subjectId }),
      ...(filter.actorId === undefined ? {} : { actorId: filter.actorId }),
      ...(filter.action === undefined ? {} : { action: filter.action }),
      ...(filter.since === null && filter.until === null
        ? {}
        : {
            at: {
              ...(filter.since === null ? {} : { gte: filter.since }),
              ...(filter.until === null ? {} : { lt: filter.until }),
            },
          }),
      ...(filter.before === null ? {} : { id: { lt: filter.before } }),
    },
    orderBy: { id: "desc" },
    take: filter.limit,
    include: withActor,
  });
}

export interface LookRow {
  id: string;
  at: Date;
  account_id: string;
  name: string | null;
  operation: string;
  parameters: string;
  allowed: boolean;
}

/** Looks newest first, by id, which sorts by time. */
export async function findLooks(
  source: Source,
  filter: {
    actorId: string | null;
    since: Date | null;
    until: Date | null;
    before: string | null;
    limit: number;
  },
): Promise<LookRow[]> {
  return await source.query<LookRow>(
    `SELECT l.id, l.at, l.account_id, v.value AS name, l.operation, l.parameters, l.allowed
     FROM look l JOIN account a ON a.id = l.account_id JOIN personal_value v ON v.id = a.name_id
     WHERE ($1::uuid IS NULL OR l.account_id = $1) AND ($2::timestamptz IS NULL OR l.at >= $2)
       AND ($3::timestamptz IS NULL OR l.at < $3) AND ($4::uuid IS NULL OR l.id < $4)
     ORDER BY l.id DESC LIMIT $5`,
    [filter.actorId, filter.since, filter.until, filter.before, filter.limit],
  );
}
