/** PostgreSQL's error of a statement, as pg throws it. */
interface DatabaseError extends Error {
  code: string;
  constraint?: string;
}

function isDatabaseError(error: unknown): error is DatabaseError {
  return error instanceof Error && /^[0-9A-Z]{5}$/.test(String((error as { code?: unknown }).code));
}

/** Whether a unique constraint refused a row; with a name, that constraint alone. */
export function isUniqueViolation(error: unknown, constraint?: string): boolean {
  return (
    isDatabaseError(error) &&
    error.code === "23505" &&
    (constraint === undefined || error.constraint === constraint)
  );
}

/** Whether ledger and log take nothing because a history is lost; the trigger's own code. */
export function isHistoryLostError(error: unknown): boolean {
  return error instanceof Error && codeOf(error) === "SB001";
}

/** Whether a new record came under an id that is somebody's already: ids are made by clients. */
export function isIdTaken(error: unknown): boolean {
  return isUniqueViolation(error) && (error as DatabaseError).constraint?.endsWith("_pkey") === true;
}

export function isForeignKeyViolation(error: unknown): boolean {
  return isDatabaseError(error) && error.code === "23503";
}

/** Code of an error of PostgreSQL, of the network or of Prisma, which carries PostgreSQL's inside; "" for any other. */
function codeOf(error: Error): string {
  const { code, meta } = error as { code?: unknown; meta?: PrismaMeta };
  return String(meta?.driverAdapterError?.cause?.originalCode ?? code ?? "");
}

interface PrismaMeta {
  readonly driverAdapterError?: { readonly cause?: { readonly originalCode?: unknown } };
}

/** Whether the database cannot be reached, or broke the connection off: nothing was wrong with what was asked. */
export function isDatabaseAway(error: unknown): boolean {
  if (!(error instanceof Error)) return false;
  const code = codeOf(error);
  return (
    /^(08|57P)/.test(code) ||
    ["53300", "25P03"].includes(code) ||
    ["ECONNREFUSED", "ECONNRESET", "EPIPE", "ETIMEDOUT", "EHOSTUNREACH", "ENETUNREACH"].includes(code) ||
    ["P1001", "P1002", "P1017"].includes(code) ||
    /Connection terminated|timeout exceeded when trying to connect|Client has encountered a connection error/.test(
      error.message,
    )
  );
}

/** Whether the database is away or too busy: the same request may succeed later. */
export function isDatabaseUnavailable(error: unknown): boolean {
  if (!(error instanceof Error)) return false;
  const code = codeOf(error);
  return (
    isDatabaseAway(error) ||
    /^(53|57)/.test(code) ||
    ["55P03", "40001", "40P01", "P1008", "P2024", "P2028", "P2034"].includes(code)
  );
}

/** Whether the database, or this machine, has no room left on its disk. */
export function isDiskFull(error: unknown): boolean {
  return error instanceof Error && ["53100", "ENOSPC", "EDQUOT"].includes(codeOf(error));
}

/** Whether a value is none of its column's type: text that is no date, a number out of range. */
export function isUnreadableValue(error: unknown): boolean {
  return error instanceof Error && /^22[0-9A-Z]{3}$/.test(codeOf(error));
}

/** Whether two transactions stood in each other's way and one was given up: it succeeds when it is done again. */
export function isTransactionConflict(error: unknown): boolean {
  return error instanceof Error && ["40001", "40P01"].includes(codeOf(error));
}
