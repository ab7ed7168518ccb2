import type { MeterType } from "@sealbook/contract/meter-types";

/** The nameplate in a line, as a tester compares it: maker, model, form, class, constants. */
export function meterLine(
  type: Pick<
    MeterType,
    | "maker"
    | "model"
    | "form"
    | "classAmperes"
    | "testAmperes"
    | "designVolts"
    | "kh"
    | "kt"
    | "accuracyClass"
  >,
): string {
  const kt = type.kt === null ? "" : `, Kt ${type.kt}`;
  return `${type.maker} ${type.model} · form ${type.form}, CL${type.classAmperes}, TA ${type.testAmperes} A, ${type.designVolts} V · Kh ${type.kh}${kt} · accuracy class ${type.accuracyClass}`;
}
