import { z } from "zod";

/**
 * Every problem that the service answers, once: what it is called, what it means, what to do.
 * `type` in a reply is "/problems/<slug>", which the service also serves as a page (RFC 9457).
 */
export const problems = {
  "malformed-request": {
    status: 400,
    title: "The request could not be read",
    meaning: "One or more fields are missing, unknown or of the wrong form.",
    remedy: "Each error names its field; mend those and send again.",
  },
  "not-signed-in": {
    status: 401,
    title: "Not signed in",
    meaning: "There is no session, or it has ended.",
    remedy: "Sign in; what you typed stays on the screen.",
  },
  "sign-in-refused": {
    status: 401,
    title: "Password or PIN refused",
    meaning: "The name and password do not belong to an active account.",
    remedy: "Check both; an administrator can set a new password.",
  },
  "password-change-needed": {
    status: 403,
    title: "Password to be changed first",
    meaning: "The account's password was given by somebody else and opens nothing but its own change.",
    remedy: "Choose a password of your own; then everything opens.",
  },
  "pin-refused": {
    status: 403,
    title: "Signature refused",
    meaning: "The signing PIN is not the one of the signed-in account, or none has been set.",
    remedy: "Type your own PIN, or set one under your name.",
  },
  "not-permitted": {
    status: 403,
    title: "Not permitted",
    meaning: "Your role may not do this.",
    remedy: "Ask someone whose role may.",
  },
  "not-independent": {
    status: 403,
    title: "Not independent of the sample",
    meaning:
      "Whoever tested a sampled meter, recorded its test or decided the lot does not approve the decision.",
    remedy: "Ask someone who had no hand in the sample to approve it.",
  },
  "restored-history": {
    status: 409,
    title: "Only reading, until a loss is signed",
    meaning:
      "A head of the log that left this database is not under its log: an older backup was put back, or the log was bent.",
    remedy: "An administrator finds out what happened and signs it; then everything can be recorded again.",
  },
  "cross-site-request": {
    status: 403,
    title: "Request from another site",
    meaning: "A change was asked for by a page that is not ours.",
    remedy: "Open the service itself and try there.",
  },
  "not-found": {
    status: 404,
    title: "No such record",
    meaning: "Nothing is on record under this address.",
    remedy: "Check the number or go back to the list.",
  },
  "already-exists": {
    status: 409,
    title: "Already on record",
    meaning: "A record with this number or name exists.",
    remedy: "Open the one on record, or use another number.",
  },
  "already-amended": {
    status: 409,
    title: "Amended by someone else first",
    meaning: "This record has been superseded since you opened it.",
    remedy: "Open the newer record and amend that one if it still needs it.",
  },
  "already-signed": {
    status: 409,
    title: "Already signed",
    meaning: "This record carries this signature already.",
    remedy: "Nothing is left to do.",
  },
  "key-reused": {
    status: 409,
    title: "Key used for something else",
    meaning: "The idempotency key came before with another body.",
    remedy: "Send a new key with a new intent.",
  },
  "wrong-state": {
    status: 409,
    title: "Not in a state for this",
    meaning: "The record has moved on since this step was possible.",
    remedy: "Reload the record to see its state.",
  },
  stale: {
    status: 412,
    title: "Changed since you opened it",
    meaning: "Someone saved a newer version.",
    remedy: "Compare with the newer version and apply your change to it.",
  },
  "too-large": {
    status: 413,
    title: "Too large",
    meaning: "The request is larger than the service takes.",
    remedy: "Send less at once.",
  },
  "unsupported-file": {
    status: 415,
    title: "File not taken",
    meaning: "The file's content is not of a kind that can be kept here.",
    remedy: "Send a PDF, PNG, JPEG, CSV or plain text file.",
  },
  "refused-by-rule": {
    status: 422,
    title: "Refused by a rule",
    meaning: "The request can be read, but a rule of the shop or its profile forbids it.",
    remedy: "Each error names the rule and the place.",
  },
  "standard-overdue": {
    status: 422,
    title: "Standard overdue",
    meaning: "The standard had no valid calibration when the test was performed.",
    remedy: "Use another standard, or record the new calibration first.",
  },
  "illegal-move": {
    status: 422,
    title: "Not a legal move",
    meaning: "A meter's life allows only certain events in each state, and later events must still hold.",
    remedy: "Correct the date or the kind of event, or take back the later events that stand against it.",
  },
  "meter-held": {
    status: 422,
    title: "Legal hold",
    meaning: "A legal hold stands on the meter: it may not be touched until who placed it lifts it.",
    remedy: "Ask the person who placed the hold.",
  },
  "version-missing": {
    status: 428,
    title: "Version missing",
    meaning: "An edit must say which version it was based on (If-Match).",
    remedy: "Reload the record and save again.",
  },
  "too-many-requests": {
    status: 429,
    title: "Too many requests",
    meaning: "More requests, or more wrong passwords or PINs, than the service takes in this time.",
    remedy: "Wait as long as Retry-After says.",
  },
  "internal-error": {
    status: 500,
    title: "Our fault",
    meaning: "Something failed inside the service; nothing was changed.",
    remedy: "Try again; if it stays, tell an administrator the request id.",
  },
  unavailable: {
    status: 503,
    title: "Not available now",
    meaning: "The service or its database is starting, stopping or overloaded.",
    remedy: "Try again as Retry-After says; what you typed is kept.",
  },
  "storage-full": {
    status: 507,
    title: "No room left",
    meaning: "The disk is full, or so nearly full that its rest is kept for recording tests.",
    remedy: "Tell an administrator to make room, then try again; what you typed is kept.",
  },
} as const satisfies Record<string, { status: number; title: string; meaning: string; remedy: string }>;

export type ProblemSlug = keyof typeof problems;

/** One error inside a problem: where, and what to do about it. */
export const problemErrorSchema = z.object({
  pointer: z.string().describe("JSON pointer into the request body, or the parameter's name"),
  detail: z.string().describe("What this person can do about it"),
  rule: z.string().optional().describe("The rule that refuses, with its citation"),
});

/** A problem as it travels (RFC 9457, application/problem+json). */
export const problemSchema = z.object({
  type: z.string().describe("/problems/<slug>: what clients switch on"),
  title: z.string(),
  status: z.int(),
  detail: z.string(),
  errors: z.array(problemErrorSchema).optional(),
  requestId: z.string().optional(),
  current: z.unknown().optional().describe("The newer version, where one stands against the request"),
});

export type Problem = z.infer<typeof problemSchema>;
export type ProblemError = z.infer<typeof problemErrorSchema>;

/** The slug in a problem's type; null for a type that is not ours. */
export function slugOf(problem: Pick<Problem, "type">): ProblemSlug | null {
  const slug = problem.type.replace(/^\/problems\//, "");
  return slug in problems ? (slug as ProblemSlug) : null;
}
