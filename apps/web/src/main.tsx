import "@fontsource-variable/inter/wght.css";
import "./ui/tokens.css";
import "./ui/base.css";
import { StrictMode } from "react";
import { createRoot } from "react-dom/client";
import { ProblemError } from "./api/problem-error.ts";
import { App } from "./app/app.tsx";
import { keptTheme, showTheme } from "./app/theme.ts";

showTheme(keptTheme());

const root = document.getElementById("root");
if (root === null) throw new Error("the page has no element with the id root");
createRoot(root, {
  onCaughtError(error) {
    // A refusal is shown to the person in its place; anything else is a fault of ours, for the console to keep.
    if (!(error instanceof ProblemError)) reportError(error);
  },
}).render(
  <StrictMode>
    <App />
  </StrictMode>,
);
