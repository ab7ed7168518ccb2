import { may } from "@sealbook/contract/permissions";
import type { Report } from "@sealbook/contract/reports";
import type { Database } from "../../platform/database.ts";
import { personRef } from "../../platform/person-ref.ts";
import { notFound } from "../../platform/problem-error.ts";
import type { Actor, Source } from "../../platform/transaction.ts";
import { findSignatures } from "../people/people.ts";
import { buildBody, readBody } from "./build-body.ts";
import { settledMoment } from "./read-tests.ts";
import { countRecordedSince, findReport, type ListedReport, type StoredReport } from "./store.ts";

/** A report that this person may see; any other is not there. */
export async function seenReport(source: Source, id: string, actor: Actor | null): Promise<StoredReport> {
  const report = await findReport(source, id);
  if (report === null || (report.state !== "released" && !may(actor?.role ?? null, "report.prepare"))) {
    throw notFound("report");
  }
  return report;
}

/** A draft of the next edition is the shop's own affair until it is released. */
export function asSeenBy<Row extends ListedReport>(
  { correctionReleased, ...row }: Row,
  preparesReports: boolean,
): Omit<Row, "correctionReleased"> {
  return preparesReports || correctionReleased ? row : { ...row, correctedById: null };
}

/** A report, whole, as this person sees it: figures of a draft are those of this moment. */
export async function viewReport(
  database: Pick<Database, "pool">,
  source: Source,
  report: StoredReport,
  actor: Actor | null,
): Promise<Report> {
  const { figures, release, withdrawal, ...row } = report;
  const preparesReports = may(actor?.role ?? null, "report.prepare");
  const signatures = await findSignatures(source, [report.id]);
  const body =
    figures === null
      ? (await buildBody(database.pool, source, report, await settledMoment(source), null)).body
      : readBody(figures.body);
  return {
    ...asSeenBy(row, preparesReports),
    body,
    sha256: figures?.sha256 ?? null,
    signatures: signatures.get(report.id) ?? [],
    released:
      release === null ? null : { at: release.at, entryId: release.entryId, pdfSha256: release.pdfSha256 },
    withdrawn:
      withdrawal === null
        ? null
        : {
            at: withdrawal.at,
            by: personRef(withdrawal.byId, withdrawal.byName),
            reason: withdrawal.reason,
          },
    recordedSince:
      figures === null || !preparesReports ? null : await countRecordedSince(source, report, figures.cutoff),
    hindrances: preparesReports ? hindrancesOf(report, actor) : [],
  };
}

function hindrancesOf(report: StoredReport, actor: Actor | null): Report["hindrances"] {
  const isAuthor = report.author !== null && report.author.id === actor?.id;
  switch (report.state) {
    case "draft":
      return isAuthor
        ? [{ step: "review", sentence: "You drafted this report: somebody else reviews its figures." }]
        : [];
    case "reviewed":
      return isAuthor
        ? []
        : [
            {
              step: "sign",
              sentence: `${report.author?.name ?? "Its author"} drafted this report and signs it.`,
            },
          ];
    case "signed":
      return isAuthor
        ? [{ step: "release", sentence: "You drafted this report: somebody else releases it." }]
        : [];
    default:
      return [];
  }
}
