import type { Database } from "../../platform/database.ts";
import type { Prisma } from "../../platform/prisma/client.ts";

const withActor = { actor: { include: { name: true } } } satisfies Prisma.LedgerEntryInclude;

export type LedgerRow = Prisma.LedgerEntryGetPayload<{ include: typeof withActor }>;

/** Entries newest first, each filter backed by an index that ends in id. */
export async function findEntries(
  database: Database,
  filter: {
    subjectId?: string | undefined;
    actorId?: string | undefined;
    action?: string | undefined;
    before: string | null;
    limit: number;
  },
): Promise<LedgerRow[]> {
  return await database.prisma.ledgerEntry.findMany({
    where: {
      ...(filter.subjectId === undefined ? {} : { subjectId: filter.subjectId }),
      ...(filter.actorId === undefined ? {} : { actorId: filter.actorId }),
      ...(filter.action === undefined ? {} : { action: filter.action }),
      ...(filter.before === null ? {} : { id: { lt: filter.before } }),
    },
    orderBy: { id: "desc" },
    take: filter.limit,
    include: withActor,
  });
}
