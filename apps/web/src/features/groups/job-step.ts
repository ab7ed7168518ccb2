import type { Programme } from "@sealbook/contract/groups";

/** What can be done about the job of a programme. */
export type JobStep = "stop" | "resume";

/**
 * What can be done about the job of a programme that stands as it does.
 *
 * @param state where the programme stands
 * @returns stop while the job is under way, resume once it ended before its time, null where no job is left to do
 */
export function jobStep(state: Programme["state"]): JobStep | null {
  switch (state) {
    case "forming":
    case "drawing":
      return "stop";
    case "cancelled":
    case "failed":
      return "resume";
    case "formed":
    case "drawn":
      return null;
  }
}
