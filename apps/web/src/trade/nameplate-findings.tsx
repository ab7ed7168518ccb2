import type { MeterType } from "@sealbook/contract/meter-types";
import { checkNameplate, type NameplateFinding } from "@sealbook/metrology/accuracy/check-nameplate";
import { Notice } from "../ui/notice.tsx";

type CheckedLines = Pick<
  MeterType,
  "form" | "elements" | "designVolts" | "testAmperes" | "classAmperes" | "kh" | "kt"
>;

/** Where a nameplate does not agree with itself; advice, nothing is refused for it. */
export function NameplateFindings({ type }: { type: CheckedLines }) {
  const findings = findingsOf(type);
  if (findings.length === 0) return null;
  return (
    <Notice tone="warn" title="The nameplate does not agree with itself">
      <ul>
        {findings.map((finding) => (
          <li key={finding.reason}>{finding.reason}</li>
        ))}
      </ul>
      <p className="quiet small">
        Form, voltage, test amperes and Kh of most meters hang together; this is common practice and advice
        only.
      </p>
    </Notice>
  );
}

/** The check wants numbers above zero; a form half filled in has none yet, and then there is nothing to say. */
function findingsOf(type: CheckedLines): NameplateFinding[] {
  const numbers = [type.designVolts, type.testAmperes, type.classAmperes, type.kh, type.kt ?? "1"];
  const isReady = type.form !== "" && numbers.every((text) => /^\d+(\.\d+)?$/.test(text) && Number(text) > 0);
  return isReady ? checkNameplate(type) : [];
}
