import type { ReportBody } from "@sealbook/contract/reports";
import { fromHex, toHex, utf8 } from "@sealbook/evidence/bytes";
import { type CanonicalValue, canonicalJson } from "@sealbook/evidence/canonical-json";
import { commitment } from "@sealbook/evidence/commitment";
import { sha256 } from "@sealbook/evidence/sha256";
import type { Findings } from "./finding.ts";
import type { Bundle } from "./read-bundle.ts";
import { parsed } from "./read-entry.ts";

/** Whether rules, plans and calibrations are those that their entries put on record. */
export function checkDocuments(bundle: Bundle, body: ReportBody, findings: Findings): void {
  const entryOf = (id: string, action: string) =>
    bundle.entries.find((entry) => entry.subjectId === id && entry.action === action);
  for (const profile of bundle.profiles) {
    const entry = entryOf(profile.id, "profile.add");
    const named = [body.profile, body.layout].find(({ id }) => id === profile.id);
    const hash = toHex(sha256(utf8(profile.text)));
    if (
      entry === undefined ||
      canonical(entry.payload.document) !== profile.text ||
      (named !== undefined && named.sha256 !== hash)
    ) {
      findings.wrong(
        "profile-differs",
        `Rules ${profile.key}, version ${profile.version}, are not those on record.`,
      );
    }
  }
  for (const { id, key, version } of [body.profile, body.layout]) {
    if (!bundle.profiles.some((profile) => profile.id === id)) {
      findings.wrong("profile-missing", `Rules ${key}, version ${version}, are not in the bundle.`);
    }
  }
  for (const plan of bundle.plans) {
    const entry = entryOf(plan.id, "testPlan.add");
    if (entry === undefined || canonical(entry.payload.body) !== canonical(parsed(plan.text))) {
      findings.wrong(
        "plan-differs",
        `Test plan ${plan.code}, revision ${plan.revision}, is not the one on record.`,
      );
    }
  }
  for (const calibration of bundle.calibrations) {
    const entry = entryOf(calibration.id, "calibration.record");
    const { payload } = entry ?? {};
    const same =
      entry !== undefined &&
      entry.id === calibration.entryId &&
      payload?.standardId === calibration.standardId &&
      payload.calibratedOn === calibration.calibratedOn &&
      payload.dueOn === calibration.dueOn &&
      payload.certificateNumber === calibration.certificateNumber &&
      payload.laboratory === calibration.laboratory &&
      canonical(payload.registrations) === canonical(parsed(calibration.points));
    if (!same) {
      findings.wrong(
        "calibration-differs",
        `Calibration ${calibration.certificateNumber} of ${calibration.designation} is not the one on record.`,
      );
    }
  }
}

/** Whether the names that were opened are those that the ledger committed to. */
export function checkNames(bundle: Bundle, findings: Findings): void {
  for (const { accountId, name, salt, commitment: said } of bundle.names) {
    const held = bundle.entries.some(
      ({ subjectId, action, payload }) =>
        subjectId === accountId &&
        (action === "account.create" || action === "account.change") &&
        payload.nameCommitment === said,
    );
    if (!held || commitment(fromHex(salt), name) !== said) {
      findings.wrong(
        "name-differs",
        `The ledger does not hold “${name}” as the name of account ${accountId}.`,
      );
    }
  }
}

function canonical(value: unknown): string | null {
  return value === undefined ? null : canonicalJson(value as CanonicalValue);
}
