import "./shell.css";
import type { ErrorComponentProps } from "@tanstack/react-router";
import { PageProblem } from "./page-problem.tsx";

/** Stands where not even the shell could be drawn, because the service does not answer. */
export function StartProblem(props: ErrorComponentProps) {
  return (
    <main className="start-problem">
      <PageProblem {...props} />
    </main>
  );
}
