import { florida } from "./places/florida.ts";
import { france } from "./places/france.ts";
import { indiana } from "./places/indiana.ts";
import { michigan } from "./places/michigan.ts";
import { northCarolina } from "./places/north-carolina.ts";
import { northDakota } from "./places/north-dakota.ts";
import { oklahoma } from "./places/oklahoma.ts";
import { pennsylvania } from "./places/pennsylvania.ts";
import type { RuleProfile } from "./profile-schema.ts";

/** The rule profiles that come with the product; key and version together are unique. */
export const shippedProfiles: readonly RuleProfile[] = [
  northCarolina,
  pennsylvania,
  michigan,
  indiana,
  oklahoma,
  northDakota,
  florida,
  france,
];
