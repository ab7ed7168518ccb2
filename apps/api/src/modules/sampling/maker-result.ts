import { z } from "zod";

/** The maker's own results of one meter, as they are kept. */
export const makerResultSchema = z.array(z.object({ label: z.string(), registrationPercent: z.string() }));
