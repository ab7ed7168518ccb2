import "@fontsource-variable/inter/wght.css";
import "./ui/tokens.css";
import "./ui/base.css";
import { StrictMode } from "react";
import { createRoot } from "react-dom/client";
import { App } from "./app/app.tsx";
import { keptTheme, showTheme } from "./app/theme.ts";

showTheme(keptTheme());

const root = document.getElementById("root");
if (root === null) throw new Error("the page has no element with the id root");
createRoot(root).render(
  <StrictMode>
    <App />
  </StrictMode>,
);
