import { type DestinationStream, type Logger, pino } from "pino";
import type { Config } from "../config.ts";

/** Fields that hold a secret wherever they stand. No line is meant to have one; this is the second fence. */
const secretFields = [
  "password",
  "currentPassword",
  "newPassword",
  "pin",
  "cookie",
  "authorization",
  "token",
];

/**
 * The service's own log: JSON lines on standard output. A value is escaped as JSON, so that no text from outside can
 * begin a line of its own.
 *
 * @param destination where the lines go; standard output unless told otherwise
 */
export function serviceLog(config: Pick<Config, "LOG_LEVEL">, destination?: DestinationStream): Logger {
  const options = {
    level: config.LOG_LEVEL,
    redact: {
      paths: secretFields.flatMap((field) => [field, `*.${field}`, `*.*.${field}`]),
      censor: "(left out)",
    },
  };
  return destination === undefined ? pino(options) : pino(options, destination);
}
