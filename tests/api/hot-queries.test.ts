import { keepDueDates } from "@sealbook/api/modules/due/keep-due-dates";
import { listMeters } from "@sealbook/api/modules/meter-list/meter-list";
import { adoptProfile } from "@sealbook/api/modules/profiles/profiles";
import { inTransaction, type Source } from "@sealbook/api/platform/transaction";
import { northCarolina } from "@sealbook/metrology/profiles/places/north-carolina";
import pg from "pg";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type TestApp, testApp } from "../support/app.ts";
import { type HotFacts, hotQueries } from "../support/hot-queries.ts";
import { fillInventory } from "../support/inventory-by-sql.ts";
import { meterBench } from "../support/meter-bench.ts";
import { planOf } from "../support/plan-of.ts";

const meters = 100_000;
const tests = 200_000;

/** Tables that grow with the inventory; nothing that is asked all day reads one of them from end to end. */
const large = [
  "meter",
  "meter_standing",
  "meter_test",
  "meter_event",
  "service_point",
  "place",
  "personal_value",
];

let shop: TestApp;
let server: pg.Pool;
let facts: HotFacts;

beforeAll(async () => {
  shop = await testApp();
  const bench = await meterBench(shop);
  await bench.aPlan();
  await inTransaction(shop.admin, null, (tx) =>
    adoptProfile(tx, {
      ...northCarolina,
      version: String(Number(northCarolina.version) + 1),
      intervals: [{ appliesTo: "every meter", selector: {}, months: 96, source: "invented for this test" }],
    }),
  );
  await fillInventory(shop.admin, { meters, tests });
  server = new pg.Pool({ connectionString: shop.database.appUrl, max: 2 });
  await keepDueDates({ pool: server });
  await shop.admin.query("VACUUM ANALYZE meter_standing");
  const one = async (sql: string) => (await shop.admin.query<Record<string, string>>(sql)).rows[0] ?? {};
  facts = {
    ...(await one(
      `SELECT id AS "meterId", utility_number AS "utilityNumber", serial, type_id AS "typeId", maker FROM meter ORDER BY id OFFSET 5000 LIMIT 1`,
    )),
    ...(await one(`SELECT number AS "servicePointNumber", area, a.value AS address FROM service_point p
      JOIN personal_value a ON a.id = p.address_id ORDER BY number OFFSET 7000 LIMIT 1`)),
    ...(await one(`SELECT id AS "storeId" FROM place WHERE kind = 'shop' LIMIT 1`)),
    ...(await one(
      `SELECT to_char(min(due_on), 'YYYY-MM') AS month FROM meter_standing WHERE due_on > current_date`,
    )),
    form: "9S",
  } as unknown as HotFacts;
}, 900_000);
afterAll(async () => {
  await server?.end();
  await shop?.close();
});

describe(`on ${meters.toLocaleString("en")} meters and ${tests.toLocaleString("en")} tests`, () => {
  it("has the inventory that the plans are read on", async () => {
    const { rows } = await shop.admin.query(
      `SELECT (SELECT count(*)::int FROM meter) AS meters, (SELECT count(*)::int FROM meter_test) AS tests,
         (SELECT count(*)::int FROM meter_standing WHERE due_on IS NOT NULL) AS due`,
    );
    expect(rows[0]).toEqual({ meters, tests, due: 80_000 });
  });

  for (const { name, run } of hotQueries) {
    it(`answers "${name}" without reading a large table from end to end`, async () => {
      const scanned: string[] = [];
      let asked = 0;
      const explaining: Source = {
        async query<Row extends pg.QueryResultRow>(sql: string, values: unknown[] = []) {
          asked += 1;
          for (const node of await planOf(server, sql, values)) {
            const table = node["Relation Name"] ?? "";
            if (node["Node Type"] === "Seq Scan" && large.includes(table)) scanned.push(`${table}: ${sql}`);
          }
          return (await server.query<Row>(sql, values)).rows;
        },
      };
      await run(explaining, facts);
      expect(asked).toBeGreaterThan(0);
      expect(scanned).toEqual([]);
    });
  }

  it("sees a sequential scan where there is one", async () => {
    const nodes = await planOf(server, "SELECT count(*) FROM meter WHERE firmware <> $1", ["x"]);
    expect(nodes.some((node) => node["Node Type"] === "Seq Scan" && node["Relation Name"] === "meter")).toBe(
      true,
    );
  });

  it.each(["number", "last-test", "last-test-newest", "due"] as const)(
    "reads a page far down by %s with no more rows than the first page",
    async (order) => {
      const limit = 50;
      const source: Source = {
        query: async (sql, values) => (await server.query(sql, values)).rows as never,
      };
      const first = await listMeters(source, { order, limit });
      // The key of a page far down, made as the service makes it.
      const far = await shop.admin.query<{ value: string; id: string }>(
        order === "number"
          ? "SELECT utility_number AS value, id FROM meter ORDER BY 1, 2 OFFSET 90000 LIMIT 1"
          : order === "due"
            ? "SELECT due_on::text AS value, meter_id AS id FROM meter_standing WHERE due_on IS NOT NULL ORDER BY due_on, meter_id OFFSET 70000 LIMIT 1"
            : `SELECT last_test_at::text AS value, meter_id AS id FROM meter_standing ORDER BY last_test_at ${order === "last-test" ? "" : "DESC"}, meter_id OFFSET 90000 LIMIT 1`,
      );
      const key = far.rows[0];
      const cursor = Buffer.from(JSON.stringify([order, key?.value, key?.id])).toString("base64url");
      const touched = async (query: { cursor?: string }) => {
        let buffers = 0;
        const counting: Source = {
          async query<Row extends pg.QueryResultRow>(sql: string, values: unknown[] = []) {
            const { rows } = await server.query(`EXPLAIN (ANALYZE, BUFFERS, FORMAT JSON) ${sql}`, values);
            const plan = rows[0]["QUERY PLAN"][0].Plan;
            buffers += plan["Shared Hit Blocks"] + plan["Shared Read Blocks"];
            return (await server.query<Row>(sql, values)).rows;
          },
        };
        const page = await listMeters(counting, { ...query, order, limit });
        expect(page.rows).toHaveLength(limit);
        return buffers;
      };
      expect(first.next).not.toBeNull();
      await touched({ cursor });
      const near = await touched({});
      expect(await touched({ cursor })).toBeLessThan(near * 2 + 100);
    },
  );
});
