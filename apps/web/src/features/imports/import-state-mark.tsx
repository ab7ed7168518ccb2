import { type ImportState, importStateNames } from "@sealbook/contract/imports";
import { StatusMark } from "../../ui/status-mark.tsx";
import { importStateTones } from "./import-state.ts";

/** The state of an import, as word and shape. */
export function ImportStateMark({ state }: { state: ImportState }) {
  return <StatusMark tone={importStateTones[state]}>{importStateNames[state]}</StatusMark>;
}
