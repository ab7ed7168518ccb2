import type { Standard } from "@sealbook/contract/standards";
import { dateAfter } from "@sealbook/metrology/calendar/date-after";

/** From so many days before it is due a standard counts as due soon. */
export const dueSoonDays = 30;

/**
 * Status of a standard on a day.
 *
 * @param today  local date of the shop, ISO 8601
 * @param standard.withdrawn  whether it was taken out of use
 * @param standard.dueOn      due date of the calibration that holds on that day; null when there is none
 * @returns "overdue" from the day after the due date; on the due date itself the calibration still holds
 */
export function standardStatusOn(
  today: string,
  standard: { withdrawn: boolean; dueOn: string | null },
): Standard["status"] {
  if (standard.withdrawn) return "withdrawn";
  if (standard.dueOn === null) return "never-calibrated";
  if (standard.dueOn < today) return "overdue";
  return standard.dueOn <= dateAfter(today, dueSoonDays) ? "due-soon" : "valid";
}
