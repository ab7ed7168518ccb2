import { fileURLToPath } from "node:url";
import { z } from "zod";

function flag(preset: "true" | "false") {
  return z
    .enum(["true", "false"])
    .default(preset)
    .transform((text) => text === "true");
}

/** Every setting of the service: its environment variable, its default and what it means. README lists them from here. */
export const settingsSchema = z.object({
  HOST: z
    .string()
    .default("127.0.0.1")
    .describe("Address to listen on; 0.0.0.0 behind a proxy or in a container"),
  PORT: z.coerce.number().int().min(0).max(65535).default(4170).describe("Port of page and API"),
  DATABASE_URL: z
    .string()
    .optional()
    .describe(
      "PostgreSQL 16 or newer, as the role that owns the tables; without it the embedded PostgreSQL is used",
    ),
  DATABASE_APP_PASSWORD: z
    .string()
    .min(16)
    .optional()
    .describe(
      "Password of the server's own role sealbook_app; made and kept in the data folder unless given",
    ),
  LOG_KEY_SEED: z
    .string()
    .optional()
    .describe(
      "Secret of the key that signs the log's heads, base64 of 32 bytes; made and kept in the data folder unless given",
    ),
  LOG_KEY_SEED_RETIRING: z
    .string()
    .optional()
    .describe(
      "Where LOG_KEY_SEED is given: the secret that it took over from, which signs beside it for a while",
    ),
  DATABASE_POOL: z.coerce.number().int().min(2).max(200).default(16).describe("Connections to PostgreSQL"),
  STATEMENT_TIMEOUT_SECONDS: z.coerce
    .number()
    .min(1)
    .max(600)
    .default(20)
    .describe("Longest statement of a request"),
  SEALBOOK_DATA_FOLDER: z
    .string()
    .default(fileURLToPath(new URL("../../../data", import.meta.url)))
    .describe("Where the embedded database and the service's secrets are kept between runs"),
  SEALBOOK_DEMO: flag("true").describe(
    "Load the demo shop into an empty database; false makes one administrator instead",
  ),
  SEALBOOK_SHOP_NAME: z.string().default("Meter shop").describe("Name of a shop that starts empty"),
  SEALBOOK_TIME_ZONE: z
    .string()
    .default("America/New_York")
    .describe("Time zone of a shop that starts empty"),
  SEALBOOK_HOME_JURISDICTION: z
    .string()
    .default("us-nc")
    .describe("Rule profile of a shop that starts empty"),
  COOKIE_SECURE: flag("false").describe("true behind HTTPS: session cookies are then sent over HTTPS only"),
  TRUST_PROXY: flag("false").describe("true behind a reverse proxy that sets X-Forwarded-For"),
  SESSION_IDLE_MINUTES: z.coerce
    .number()
    .min(1)
    .max(1440)
    .default(60)
    .describe("A session ends after so long without a request"),
  SESSION_HOURS: z.coerce
    .number()
    .min(1)
    .max(24)
    .default(12)
    .describe("A session ends after so long in any case"),
  SIGN_INS_PER_MINUTE: z.coerce
    .number()
    .int()
    .min(1)
    .max(10_000)
    .default(20)
    .describe("Sign-in attempts from one address"),
  REQUESTS_PER_MINUTE: z.coerce
    .number()
    .int()
    .min(10)
    .max(1_000_000)
    .default(12_000)
    .describe("Requests a minute from one address, which a whole shop may share"),
  REQUESTS_PER_MINUTE_OF_A_PERSON: z.coerce
    .number()
    .int()
    .min(10)
    .max(1_000_000)
    .default(3000)
    .describe("Requests a minute under one name"),
  REQUESTS_AT_ONCE: z.coerce
    .number()
    .int()
    .min(4)
    .max(100_000)
    .default(200)
    .describe(
      "Requests under way in one process; beyond half of them no documents are made, beyond four fifths nothing is read",
    ),
  EVENT_LOOP_DELAY_MILLISECONDS: z.coerce
    .number()
    .min(20)
    .max(60_000)
    .default(1000)
    .describe("A process that falls this far behind refuses requests, the least urgent at half of it"),
  DISK_RESERVE_MEGABYTES: z.coerce
    .number()
    .min(0)
    .max(10_000_000)
    .default(1024)
    .describe("Room on the data folder's disk that is kept for tests: below it no import or file is taken"),
  DRAIN_SECONDS: z.coerce
    .number()
    .min(0)
    .max(300)
    .default(0)
    .describe(
      "After SIGTERM the service says so long that it is not ready, and still serves, before it stops",
    ),
  METRICS_TOKEN: z
    .string()
    .min(16)
    .optional()
    .describe("Bearer token of /metrics; without it there are no metrics"),
  REQUIRE_DURABLE_DATABASE: flag("true").describe(
    "false starts even on a database that loses confirmed records when it crashes; for trials only",
  ),
  UPLOAD_MEGABYTES: z.coerce.number().int().min(1).max(1000).default(64).describe("Largest file"),
  LOG_LEVEL: z
    .enum(["fatal", "error", "warn", "info", "debug", "trace", "silent"])
    .default("info")
    .describe("Of the structured log on standard output"),
});

export type Config = z.infer<typeof settingsSchema>;

/**
 * The settings, parsed once.
 * @throws Error that names each setting that cannot be used
 */
export function readConfig(environment: NodeJS.ProcessEnv = process.env): Config {
  const parsed = settingsSchema.safeParse(environment);
  if (parsed.success) return parsed.data;
  const lines = parsed.error.issues.map((issue) => `  ${issue.path.join(".")}: ${issue.message}`);
  throw new Error(`These settings cannot be used:\n${lines.join("\n")}`);
}
