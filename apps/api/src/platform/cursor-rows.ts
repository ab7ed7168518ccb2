import type pg from "pg";

const rowsAtOnce = 2_000;

/**
 * Rows of a query one after the other, as the database stood when the reading began. They are fetched piece by piece as
 * they are taken, so that neither side holds them all; whoever stops taking them ends the query.
 *
 * @param idleMinutes how long the taker may pause before the database ends the reading
 */
export async function* cursorRows<Row extends pg.QueryResultRow>(
  pool: Pick<pg.Pool, "connect">,
  { sql, values }: { sql: string; values: unknown[] },
  idleMinutes = 5,
): AsyncGenerator<Row, void> {
  const client = await pool.connect();
  let isWhole = false;
  try {
    await client.query(
      `BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY; SET LOCAL idle_in_transaction_session_timeout = '${idleMinutes}min'`,
    );
    await client.query(`DECLARE taken NO SCROLL CURSOR FOR ${sql}`, values);
    for (;;) {
      const { rows } = await client.query<Row>(`FETCH ${rowsAtOnce} FROM taken`);
      yield* rows;
      if (rows.length < rowsAtOnce) break;
    }
    await client.query("COMMIT");
    isWhole = true;
  } finally {
    // A connection whose reading was cut short is closed rather than cleaned.
    client.release(!isWhole);
  }
}
