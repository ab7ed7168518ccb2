import { z } from "zod";
import { settingsSchema } from "./config.ts";

/** The settings as a Markdown table, for the README; a test holds the README against it. */
export function settingsTable(dataFolder: string): string {
  const { properties = {} } = z.toJSONSchema(settingsSchema, { io: "input", unrepresentable: "any" });
  const rows = Object.entries(properties).map(([name, schema]) => {
    const { default: preset, description } = schema as { default?: unknown; description?: string };
    // The data folder's default is an absolute path of this machine; readers see it as seen from the checkout.
    const shown = name === "SEALBOOK_DATA_FOLDER" ? dataFolder : preset;
    return `| \`${name}\` | ${shown === undefined ? "" : `\`${String(shown)}\``} | ${description ?? ""} |`;
  });
  return ["| setting | default | meaning |", "| --- | --- | --- |", ...rows].join("\n");
}
