import { z } from "zod";
import { idSchema } from "./common.ts";
import { meterStates } from "./meters.ts";
import { operation } from "./operation.ts";

/** Rows that one group of an answer holds at most. */
export const mostFound = 8;

/** A meter as the search box shows it. */
export const foundMeterSchema = z.object({
  id: idSchema,
  utilityNumber: z.string(),
  serial: z.string(),
  maker: z.string(),
  model: z.string(),
  form: z.string(),
  state: z.enum(meterStates),
  place: z.string(),
});
export type FoundMeter = z.infer<typeof foundMeterSchema>;

/** A service point as the search box shows it, with the meters that stand there. */
export const foundServicePointSchema = z.object({
  id: idSchema,
  number: z.string(),
  address: z.string().describe("Personal value; 'erased' once forgotten"),
  area: z.string(),
  meters: z
    .array(z.object({ id: idSchema, utilityNumber: z.string() }))
    .max(3)
    .describe("Meters there now, by number, the first three"),
});
export type FoundServicePoint = z.infer<typeof foundServicePointSchema>;

export const searchBook = operation({
  id: "search.book",
  summary:
    "Meters by any part of their utility number or serial, service points by any part of their number or address. One or two characters match the beginning of a number alone.",
  method: "GET",
  path: "/search",
  permission: "meter.read",
  query: z.object({ q: z.string().min(1).max(80) }),
  reply: z.object({
    meters: z.array(foundMeterSchema).max(mostFound),
    servicePoints: z.array(foundServicePointSchema).max(mostFound),
  }),
});

export const searchOperations = [searchBook];
