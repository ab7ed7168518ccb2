import "./page.css";
import { readHeld } from "@sealbook/verification/read-held";
import { showVerification } from "./show-verification.ts";
import { type Answer, type Question, verifyFile } from "./verify-file.ts";

/** The page itself: takes a file and what somebody holds, asks for the verification, shows it. */
export function startPage(): void {
  const file = found<HTMLInputElement>("file");
  const held = found<HTMLTextAreaElement>("held");
  const heldSays = found("held-says");
  const button = found<HTMLButtonElement>("verify");
  const status = found("status");
  const result = found("result");
  let dropped: File | null = null;

  const chosen = () => file.files?.[0] ?? dropped;
  const sayHeld = () => {
    const { keys, heads, printed, unread } = readHeld(held.value);
    const parts = [
      ...(keys.length === 0 ? [] : [`${keys.length === 1 ? "a key" : `${keys.length} keys`}`]),
      ...(heads.length === 0
        ? []
        : [`${heads.length === 1 ? "a signed head" : `${heads.length} signed heads`}`]),
      ...(printed.length === 0
        ? []
        : [`${printed.length === 1 ? "a head" : `${printed.length} heads`} from paper`]),
    ];
    heldSays.textContent = [
      ...(parts.length === 0 ? [] : [`Recognised: ${parts.join(", ")}.`]),
      ...(unread.length === 0 ? [] : [`Not recognised: ${unread.slice(0, 3).join(" / ")}`]),
    ].join(" ");
  };
  held.addEventListener("input", sayHeld);
  file.addEventListener("change", () => {
    dropped = null;
    status.textContent = "";
  });
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    dropped = event.dataTransfer?.files[0] ?? null;
    if (dropped === null) return;
    file.value = "";
    status.textContent = `Taken: ${dropped.name}`;
  });
  found<HTMLFormElement>("form").addEventListener("submit", (event) => {
    event.preventDefault();
    const bundle = chosen();
    if (bundle === null) {
      status.textContent = "Choose the bundle first.";
      file.focus();
      return;
    }
    button.disabled = true;
    result.replaceChildren();
    status.textContent = "Reading the file.";
    ask({ file: bundle, held: held.value }, (answer) => {
      switch (answer.kind) {
        case "progress":
          status.textContent =
            answer.part === "form"
              ? `Reading the file: ${answer.lines.toLocaleString("en")} lines.`
              : `Judging the records again: ${answer.lines.toLocaleString("en")} lines.`;
          return;
        case "failed":
          status.textContent = answer.sentence;
          break;
        case "verified":
          status.textContent = `Verified ${bundle.name}.`;
          result.replaceChildren(showVerification(answer.verification));
          result.focus();
      }
      button.disabled = false;
    });
  });
}

/** Verifies beside the page where the browser lets it, so that the page stays at hand; else on it. */
function ask(question: Question, answer: (answer: Answer) => void): void {
  const source = document.querySelector("script")?.textContent ?? "";
  try {
    const address = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
    const worker = new Worker(address);
    worker.addEventListener("message", ({ data }: MessageEvent<Answer>) => {
      answer(data);
      if (data.kind === "progress") return;
      worker.terminate();
      URL.revokeObjectURL(address);
    });
    worker.addEventListener("error", (event) => {
      event.preventDefault();
      worker.terminate();
      void verifyFile(question, answer);
    });
    worker.postMessage(question);
  } catch {
    void verifyFile(question, answer);
  }
}

function found<Element extends HTMLElement = HTMLElement>(id: string): Element {
  const element = document.getElementById(id);
  if (element === null) throw new Error(`the page has no ${id}`);
  return element as Element;
}
