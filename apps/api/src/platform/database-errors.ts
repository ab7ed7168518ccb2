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

export function isForeignKeyViolation(error: unknown): boolean {
  return isDatabaseError(error) && error.code === "23503";
}

/** Whether the database is away, going away, full or too busy: the same request may succeed later. */
export function isDatabaseUnavailable(error: unknown): boolean {
  if (!(error instanceof Error)) return false;
  const code = String((error as { code?: unknown }).code ?? "");
  return (
    /^(08|53|57)/.test(code) ||
    ["55P03", "40001", "40P01"].includes(code) ||
    ["ECONNREFUSED", "ECONNRESET", "EPIPE", "ETIMEDOUT"].includes(code) ||
    /Connection terminated|timeout exceeded when trying to connect/.test(error.message)
  );
}
