import { startPage } from "./page.ts";
import { type Question, verifyFile } from "./verify-file.ts";

// One script is both the page and the worker beside it: a single file has nowhere to load another from.
if (typeof document === "undefined") {
  self.addEventListener("message", ({ data }: MessageEvent<Question>) => {
    void verifyFile(data, (answer) => self.postMessage(answer));
  });
} else {
  startPage();
}
