export interface EmbeddedDatabaseOptions {
  /** Where the data are kept between runs; SEALBOOK_DATA_FOLDER or the folder `data` of the checkout. */
  dataFolder?: string;
  /** The database that the returned address names; made when it is missing. "sealbook" unless told otherwise. */
  database?: string;
  /** False for throwaway servers only: writes are then not forced to the disk. */
  durable?: boolean;
  /** Further settings of PostgreSQL by name, such as `{ max_connections: "200" }`. */
  settings?: Readonly<Record<string, string>>;
}

export interface EmbeddedDatabase {
  /** Address of the database as its superuser. It holds the password: never log it. */
  readonly adminUrl: string;
  readonly port: number;
  /** Closes our use of the server, and stops it unless another Node on this machine still uses it. */
  stop(): Promise<void>;
}

/** Where the embedded server keeps its data unless it is told otherwise. */
export function defaultDataFolder(): string;

/**
 * Makes sure that the embedded PostgreSQL runs and returns its address. The first run makes the cluster
 * (UTF-8, built-in locale, data checksums, passwords only, reachable from this machine only). A server which
 * a killed Node left running is adopted; one which was killed itself recovers. As root it runs as "nobody".
 *
 * @throws Error when no binaries are installed for this machine or the server does not start; the message
 *   says what to do
 */
export function ensureDatabase(options?: EmbeddedDatabaseOptions): Promise<EmbeddedDatabase>;
