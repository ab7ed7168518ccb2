import type { ServicePoint } from "@sealbook/contract/service-points";
import type { Database } from "../../platform/database.ts";
import { erasedText } from "../../platform/personal-values.ts";
import type { Prisma } from "../../platform/prisma/client.ts";
import type { Tx } from "../../platform/transaction.ts";

type ServicePointRow = Prisma.ServicePointGetPayload<{ include: { address: true } }>;

export function toServicePoint(row: ServicePointRow): ServicePoint {
  return {
    id: row.id,
    number: row.number,
    address: row.address.value ?? erasedText,
    area: row.area,
    jurisdiction: row.jurisdiction,
  };
}

/** Service points by number; `part` matches any part of it through the trigram index. */
export async function findServicePoints(
  database: Database,
  filter: { part: string | undefined; after: string | null; limit: number },
): Promise<ServicePoint[]> {
  const rows = await database.prisma.servicePoint.findMany({
    where: {
      AND: [
        filter.part === undefined ? {} : { number: { contains: filter.part, mode: "insensitive" } },
        filter.after === null ? {} : { number: { gt: filter.after } },
      ],
    },
    orderBy: { number: "asc" },
    take: filter.limit,
    include: { address: true },
  });
  return rows.map(toServicePoint);
}

export async function findServicePoint(database: Database, id: string): Promise<ServicePoint | null> {
  const row = await database.prisma.servicePoint.findUnique({ where: { id }, include: { address: true } });
  return row === null ? null : toServicePoint(row);
}

export async function insertServicePoints(
  tx: Tx,
  points: readonly (Omit<ServicePoint, "address"> & { addressId: string })[],
  entryIds: readonly string[],
): Promise<void> {
  await tx.query(
    `INSERT INTO service_point (id, number, address_id, area, jurisdiction, entry_id)
     SELECT * FROM unnest($1::uuid[], $2::text[], $3::uuid[], $4::text[], $5::text[], $6::uuid[])`,
    [
      points.map(({ id }) => id),
      points.map(({ number }) => number),
      points.map(({ addressId }) => addressId),
      points.map(({ area }) => area),
      points.map(({ jurisdiction }) => jurisdiction),
      entryIds,
    ],
  );
}
