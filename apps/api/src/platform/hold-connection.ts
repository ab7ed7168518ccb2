import type pg from "pg";

/** One connection of a pool that a long job keeps for all its transactions. */
export interface HeldConnection {
  connect(): Promise<pg.PoolClient>;
  /** Closes it for good: what the job left in it (temporary tables) goes with it. */
  release(): void;
}

/** Takes a connection out of the pool; inTransaction then works on it as it does on the pool, one at a time. */
export async function holdConnection(pool: Pick<pg.Pool, "connect">): Promise<HeldConnection> {
  const client = await pool.connect();
  const release = client.release.bind(client);
  // A transaction gives its client back when it ends; this one stays with the job until the job ends.
  client.release = () => undefined;
  return {
    connect: async () => client,
    release: () => release(true),
  };
}
