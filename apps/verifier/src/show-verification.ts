import type { Checked, Finding } from "@sealbook/verification/finding";
import type { Verification } from "@sealbook/verification/verify-bundle";

type Tone = "good" | "bad" | "warn";

/** A shape for each tone, so that no status hangs on colour; the same as in the service. */
const shapes: Record<Tone, string> = {
  good: "M5 0.5a4.5 4.5 0 1 0 0 9a4.5 4.5 0 1 0 0-9Z",
  bad: "M0 0H10V10H0Z",
  warn: "M5 0.5 10 9.5 0 9.5Z",
};

/** What was found, in words: the whole first, then part by part, then what no bundle can show. */
export function showVerification(verification: Verification): HTMLElement {
  const { report, head, parts, cannotBeKnown, holds, holdsFully } = verification;
  const whole = element("section", "whole");
  const tone: Tone = !holds ? "bad" : holdsFully ? "good" : "warn";
  whole.append(
    heading(
      "h2",
      mark(
        tone,
        !holds
          ? "This bundle does not hold."
          : holdsFully
            ? "Everything here holds."
            : "Nothing here is wrong, but not everything could be told.",
      ),
    ),
  );
  if (report !== null) {
    whole.append(
      terms([
        ["Report", `${report.title}, ${report.shop}`],
        ["Period", `${report.from} to ${report.to}, edition ${report.edition}`],
        ["Its SHA-256", report.sha256],
        ["Log", head === null ? "no head that can be trusted" : `${head.origin}, ${head.size} entries`],
      ]),
    );
  }
  const list = element("ol", "parts");
  for (const part of parts) list.append(showPart(part));
  const unknown = element("section", "unknown");
  unknown.append(heading("h2", document.createTextNode("What this cannot know")));
  const sentences = element("ul");
  for (const sentence of cannotBeKnown) sentences.append(withText("li", sentence));
  unknown.append(sentences);
  const all = element("div", "stack");
  all.append(whole, list, unknown);
  return all;
}

function showPart({ part, holds, findings }: Checked): HTMLElement {
  const item = element("li", "part");
  const wrong = findings.filter(({ kind }) => kind === "wrong").length;
  const tone: Tone = wrong > 0 ? "bad" : findings.length > 0 ? "warn" : "good";
  const words = tone === "bad" ? "does not hold" : tone === "warn" ? "cannot all be told" : "holds";
  item.append(heading("h3", document.createTextNode(`${part}: `), mark(tone, words)));
  if (wrong === 0 && holds !== "") item.append(withText("p", holds));
  if (findings.length > 0) {
    const list = element("ul", "findings");
    for (const finding of findings) list.append(showFinding(finding));
    item.append(list);
  }
  return item;
}

function showFinding({ name, kind, sentence }: Finding): HTMLElement {
  const item = element("li");
  item.append(mark(kind === "wrong" ? "bad" : "warn", sentence), document.createTextNode(" "));
  item.append(withText("code", name));
  return item;
}

function mark(tone: Tone, words: string): HTMLElement {
  const span = element("span", `mark mark-${tone}`);
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("viewBox", "0 0 10 10");
  svg.setAttribute("aria-hidden", "true");
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  path.setAttribute("d", shapes[tone]);
  path.setAttribute("fill", "currentColor");
  svg.append(path);
  span.append(svg, withText("span", words));
  return span;
}

function terms(items: readonly (readonly [string, string])[]): HTMLElement {
  const list = element("dl", "terms");
  for (const [term, value] of items) list.append(withText("dt", term), withText("dd", value));
  return list;
}

function heading(tag: "h2" | "h3", ...children: Node[]): HTMLElement {
  const found = element(tag);
  found.append(...children);
  return found;
}

function withText(tag: string, text: string): HTMLElement {
  const found = element(tag);
  found.textContent = text;
  return found;
}

function element(tag: string, className?: string): HTMLElement {
  const found = document.createElement(tag);
  if (className !== undefined) found.className = className;
  return found;
}
