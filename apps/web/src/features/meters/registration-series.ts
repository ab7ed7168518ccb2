import type { TestRow } from "@sealbook/contract/meters";

export type SeriesName = "average" | "full-load" | "light-load" | "power-factor";

export const seriesNames: Record<SeriesName, string> = {
  average: "Average",
  "full-load": "Full load",
  "light-load": "Light load",
  "power-factor": "Power factor",
};

/** One as-found figure to draw. */
interface SeriesPoint {
  testId: string;
  performedOn: string;
  /** Milliseconds since 1970 of the time of the test. */
  time: number;
  percent: number;
}

export interface Series {
  name: SeriesName;
  points: SeriesPoint[];
}

const figures: Record<SeriesName, (row: TestRow) => string | null> = {
  average: (row) => row.averageAsFound,
  "full-load": (row) => row.fullLoadAsFound,
  "light-load": (row) => row.lightLoadAsFound,
  "power-factor": (row) => row.powerFactorAsFound,
};

/**
 * As-found registrations of a meter's tests by time, oldest first. Superseded and withdrawn tests are left out; a
 * series without any figure is, too.
 */
export function registrationSeries(rows: readonly TestRow[]): Series[] {
  const standing = rows
    .filter((row) => row.supersededById === null && row.asFound !== "withdrawn")
    .toSorted((a, b) => Date.parse(a.performedAt) - Date.parse(b.performedAt));
  return (Object.keys(figures) as SeriesName[])
    .map((name) => ({
      name,
      points: standing.flatMap((row) => {
        const figure = figures[name](row);
        if (figure === null) return [];
        const point = { testId: row.id, performedOn: row.performedOn, time: Date.parse(row.performedAt) };
        return [{ ...point, percent: Number(figure) }];
      }),
    }))
    .filter((series) => series.points.length > 0);
}
