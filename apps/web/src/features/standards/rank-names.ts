import type { Standard } from "@sealbook/contract/standards";

export const rankNames: Record<Standard["rank"], string> = {
  reference: "Reference standard",
  working: "Working standard",
};
