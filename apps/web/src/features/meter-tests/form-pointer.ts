import type { DemandField, FormPass } from "./test-form.ts";

/** Where each point and run that was sent stands in the form: blank runs and points are not sent, so places shift. */
export type PlacesSent = Record<FormPass, readonly { pointKey: string; runIndexes: readonly number[] }[]>;

const passRoots: Record<FormPass, string> = {
  asFound: "/outcome/asFound",
  asLeftPass: "/outcome/asLeft/pass",
};

/** Pointer of a run's field in the form: like the one into the body, with the point's key for its place. */
export function runPointer(pass: FormPass, pointKey: string, runIndex: number, field: string): string {
  return `${passRoots[pass]}/points/${pointKey}/runs/${runIndex}/${field}`;
}

/** Pointer of a pass's creep result. */
export function creepPointer(pass: FormPass): string {
  return `${passRoots[pass]}/creep`;
}

/** Pointer of a pass's answer about the starting load. */
export function startingLoadPointer(pass: FormPass): string {
  return `${passRoots[pass]}/startingLoad`;
}

/** Pointer of a field of a demand reading; readings keep their places when they are sent. */
export function demandPointer(pass: FormPass, index: number, field: DemandField): string {
  return `${passRoots[pass]}/demand/${index}/${field}`;
}

/**
 * The form's pointer for a JSON pointer into the body that was sent, so that a refusal lands at the field where the
 * person typed. Pointers outside the runs are the same in both.
 */
export function formPointer(bodyPointer: string, places: PlacesSent): string {
  for (const pass of ["asFound", "asLeftPass"] as const) {
    const root = `${passRoots[pass]}/points/`;
    if (!bodyPointer.startsWith(root)) continue;
    const [pointPlace, runsWord, runPlace, ...field] = bodyPointer.slice(root.length).split("/");
    const point = places[pass][Number(pointPlace)];
    if (point === undefined) return bodyPointer;
    if (runsWord !== "runs" || runPlace === undefined) return runPointer(pass, point.pointKey, 0, "");
    const runIndex = point.runIndexes[Number(runPlace)] ?? 0;
    return runPointer(pass, point.pointKey, runIndex, field.join("/"));
  }
  return bodyPointer;
}
