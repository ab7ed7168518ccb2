import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Waiting } from "../../ui/waiting.tsx";
import type { DatedPreparation } from "./use-dated-preparation.ts";

/** How the fetching of another date's rules and certificates goes; nothing once they are here. */
export function DatedNote({ dated }: { dated: DatedPreparation }) {
  if (dated.error !== null) return <ProblemNotice error={dated.error} onRetry={dated.onRetry} />;
  if (dated.waitsFor === null) return null;
  return <Waiting what={`the rules and certificates of ${dated.waitsFor}`} />;
}
