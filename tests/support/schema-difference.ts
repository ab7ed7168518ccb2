import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import {
  bindMigrationAwareSqlAdapterFactory,
  type ColumnType,
  ColumnTypeEnum,
  type SqlMigrationAwareDriverAdapterFactory,
  type SqlQuery,
} from "@prisma/driver-adapter-utils";
import pg from "pg";

/**
 * What would have to change in a database for it to be what a Prisma schema says, found by Prisma's own schema
 * engine. Triggers, functions, checks and privileges are not its concern.
 *
 * @param adminUrl address of the database
 * @param schema text of schema.prisma
 * @returns SQL, or null when nothing differs
 */
export async function schemaDifference(adminUrl: string, schema: string): Promise<string | null> {
  bindings ??= loadEngine();
  const { SchemaEngine } = await bindings;
  const client = new pg.Client({ connectionString: adminUrl });
  await client.connect();
  const adapter = bindMigrationAwareSqlAdapterFactory(adapterFor(client));
  const engine = await SchemaEngine.new(
    { datamodels: [["schema.prisma", schema]] },
    () => undefined,
    adapter,
  );
  const files = [{ path: "schema.prisma", content: schema }];
  try {
    const { exitCode, stdout } = await engine.diff({
      from: { tag: "schemaDatasource", files, configDir: "." },
      to: { tag: "schemaDatamodel", files },
      script: true,
      exitCode: true,
      filters: { externalTables: [], externalEnums: [] },
    });
    return exitCode === 0 ? null : (stdout ?? "");
  } finally {
    engine.free();
    await client.end();
  }
}

type Bindings = typeof import("@prisma/schema-engine-wasm/schema_engine_bg");

/** Loaded once: the bindings know a single instance. */
let bindings: Promise<Bindings> | undefined;

/** The package is made for bundlers, which load its WebAssembly themselves; Node has to be shown how. */
async function loadEngine(): Promise<Bindings> {
  const bindings = await import("@prisma/schema-engine-wasm/schema_engine_bg");
  const entry = createRequire(import.meta.url).resolve("@prisma/schema-engine-wasm/schema_engine_bg");
  const bytes = readFileSync(join(dirname(entry), "schema_engine_bg.wasm"));
  const imports = { "./schema_engine_bg.js": { ...bindings } };
  const { instance } = await WebAssembly.instantiate(bytes, imports as unknown as WebAssembly.Imports);
  const { __wbg_set_wasm, ...rest } = bindings as typeof bindings & { __wbg_set_wasm(wasm: unknown): void };
  __wbg_set_wasm(instance.exports);
  (instance.exports as { __wbindgen_start(): void }).__wbindgen_start();
  return rest as typeof bindings;
}

/** Prisma's adapter for pg does not know the type "char", which the catalogue is full of. This one reads only that. */
function adapterFor(client: pg.Client): SqlMigrationAwareDriverAdapterFactory {
  const described = { provider: "postgres", adapterName: "sealbook-schema-difference" } as const;
  return {
    ...described,
    async connect() {
      const query = ({ sql, args }: SqlQuery) =>
        client.query<unknown[], unknown[]>({ text: sql, values: [...args], rowMode: "array" });
      return {
        ...described,
        async queryRaw(sqlQuery) {
          const { fields, rows } = await query(sqlQuery);
          return {
            columnNames: fields.map(({ name }) => name),
            columnTypes: fields.map(({ dataTypeID }) => columnTypeOf(dataTypeID)),
            rows,
          };
        },
        executeRaw: async (sqlQuery) => (await query(sqlQuery)).rowCount ?? 0,
        executeScript: async (script) => {
          await client.query(script);
        },
        startTransaction: () => Promise.reject(new Error("comparing schemas needs no transaction")),
        getConnectionInfo: () => ({ schemaName: "public", supportsRelationJoins: true }),
        dispose: () => Promise.resolve(),
      };
    },
    connectToShadowDb: () => Promise.reject(new Error("comparing with a database needs no second one")),
  };
}

/** The types of the catalogue by their object identifier in PostgreSQL's pg_type. */
function columnTypeOf(objectId: number): ColumnType {
  const types: Record<number, ColumnType> = {
    16: ColumnTypeEnum.Boolean,
    18: ColumnTypeEnum.Character,
    19: ColumnTypeEnum.Text,
    20: ColumnTypeEnum.Int64,
    21: ColumnTypeEnum.Int32,
    23: ColumnTypeEnum.Int32,
    25: ColumnTypeEnum.Text,
    26: ColumnTypeEnum.Int64,
    194: ColumnTypeEnum.Text,
    1000: ColumnTypeEnum.BooleanArray,
    1002: ColumnTypeEnum.CharacterArray,
    1003: ColumnTypeEnum.TextArray,
    1005: ColumnTypeEnum.Int32Array,
    1007: ColumnTypeEnum.Int32Array,
    1009: ColumnTypeEnum.TextArray,
    1016: ColumnTypeEnum.Int64Array,
    1043: ColumnTypeEnum.Text,
  };
  const type = types[objectId];
  if (type === undefined)
    throw new Error(`The catalogue answered with a type not expected here: ${objectId}`);
  return type;
}
