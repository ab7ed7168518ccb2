import { Notice } from "../../ui/notice.tsx";

/** The caution before voltage is applied. It advises; local codes and the employer's procedures decide. */
export function SafetyCaution() {
  return (
    <Notice tone="warn" title="Voltage will be applied">
      <p className="small">
        Treat sockets and test blocks as energized until proven otherwise. Check voltage and form before the
        meter goes in. Never open a current transformer’s secondary that carries current: short it first. Wear
        what the arc-flash study asks for; two people where local rules say so. Local codes, your employer’s
        procedures and licensed practice decide.
      </p>
    </Notice>
  );
}
