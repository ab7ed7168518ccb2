import {
  measureNames,
  type ReportBody,
  reportSignatureMeanings,
  reportSignatureNames,
} from "@sealbook/contract/reports";
import { localMinute } from "../../platform/local-date.ts";
import { cellText, reportTables } from "./report-tables.ts";

/** What a report's document says beside its figures. */
export interface ReleaseOnPaper {
  readonly sha256: string;
  readonly author: string;
  /** Oldest first; the releaser's own has no hash, for the document is part of what it signs. */
  readonly signatures: readonly {
    readonly name: string;
    readonly meaning: string;
    readonly at: string;
    readonly recordHash: string | null;
  }[];
  readonly releasedAt: string;
  /** Head of the log, in one line. */
  readonly head: string | null;
}

/** Words and figures of a report, ready to be set. */
export function reportDocument(body: ReportBody, release: ReleaseOnPaper) {
  const at = (instant: string) => `${localMinute(new Date(instant), body.timeZone)} (${body.timeZone})`;
  const releasedAt = new Date(release.releasedAt);
  const [all] = body.summary.divisions.find(({ dimension }) => dimension === "all")?.rows ?? [];
  return {
    shop: body.shop,
    title: body.title,
    subtitle: `${body.period.from} to ${body.period.to}, ${body.place?.name ?? "every place"}`,
    edition: body.edition,
    id: body.id,
    date: {
      year: releasedAt.getUTCFullYear(),
      month: releasedAt.getUTCMonth() + 1,
      day: releasedAt.getUTCDate(),
    },
    head: release.head,
    sha256: release.sha256,
    correction:
      body.corrects === null
        ? null
        : `This edition stands in for edition ${body.corrects.edition} (SHA-256 ${body.corrects.sha256}). Reason: ${body.corrects.reason}`,
    particulars: [
      ["Period", `${body.period.from} to ${body.period.to}, by the local date on which a test was performed`],
      ["Place", body.place?.name ?? "Every place"],
      ["Rules", `${body.profile.title} (${body.profile.key}, version ${body.profile.version})`],
      ["Accuracy bands", `${body.layout.title} (${body.layout.key}, version ${body.layout.version})`],
      ["Source of the bands", body.summary.layout.source],
      ["Results counted", body.summary.layout.asFoundOnly ? "As found alone" : "As found and as left"],
      ["Recorded up to", at(body.cutoff)],
      ...(body.lateSince === null ? [] : [["Late entries", `Recorded after ${at(body.lateSince)}`]]),
      ["Manifest", `${body.manifest.tests} records of tests, root ${body.manifest.root ?? "none"}`],
      ["SHA-256 of the figures", release.sha256],
      ["Arithmetic", `Version ${body.engineVersion}`],
      ["Prepared by", release.author],
      ["Released", at(release.releasedAt)],
    ],
    signatures: release.signatures.map(({ name, meaning, at: signedAt, recordHash }) => ({
      name,
      meaning: reportSignatureNames[reportSignatureMeanings.find((known) => known === meaning) ?? "prepared"],
      at: at(signedAt),
      recordHash,
    })),
    charts: (all?.measures ?? [])
      .filter(({ pass }) => pass === "asFound")
      .map(({ measure, classes }) => ({
        title: `${measureNames[measure]}, as found`,
        svg: classChart(
          classes,
          body.summary.layout.classes.map(({ label }) => label),
        ),
        alt: `${measureNames[measure]}: ${body.summary.layout.classes
          .flatMap(({ label }, place) => ((classes[place] ?? 0) === 0 ? [] : [`${label} ${classes[place]}`]))
          .join(", ")}.`,
      })),
    tables: reportTables(body).map(({ title, note, headings, rows, isWide }) => ({
      title,
      note,
      isWide,
      headings,
      isNumeric: headings.map(
        (_, column) =>
          rows.length > 0 &&
          rows.every((row) => row[column]?.kind === "count" || row[column]?.kind === "decimal"),
      ),
      rows: rows.map((row) => row.map(cellText)),
    })),
    caution: body.caution,
  };
}

const width = 250;
const rowHeight = 9;
const labelWidth = 62;
const ink = "#1d2a33";

/** Bars of the tests of each class, from the top down, each with its count. */
function classChart(counts: readonly number[], labels: readonly string[]): string {
  const most = Math.max(1, ...counts);
  const height = counts.length * rowHeight + 4;
  const font = `font-family="Libertinus Serif" font-size="7" fill="${ink}"`;
  const bars = counts.map((count, place) => {
    const y = place * rowHeight + 2;
    const long = ((width - labelWidth - 30) * count) / most;
    return (
      `<text x="${labelWidth - 3}" y="${y + 6.5}" text-anchor="end" ${font}>${escaped(labels[place] ?? "")}</text>` +
      `<rect x="${labelWidth}" y="${y + 1}" width="${long.toFixed(2)}" height="${rowHeight - 2.5}" fill="#5f7682"/>` +
      `<text x="${(labelWidth + long + 2).toFixed(2)}" y="${y + 6.5}" ${font}>${count}</text>`
    );
  });
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${width} ${height}" width="${width}" height="${height}"><line x1="${labelWidth}" y1="2" x2="${labelWidth}" y2="${height - 2}" stroke="${ink}" stroke-width="0.6"/>${bars.join("")}</svg>`;
}

function escaped(label: string): string {
  return label.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
}
