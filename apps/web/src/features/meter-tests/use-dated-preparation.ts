import { prepareMeterTest, type TestPreparation } from "@sealbook/contract/meter-tests";
import { keepPreviousData, useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { formatLocalDate } from "../../ui/local-time.ts";
import { performedInstant } from "./test-body.ts";
import type { TestForm } from "./test-form.ts";

/** What a test of one date is judged by, and how the fetching of it goes. */
export interface DatedPreparation {
  judgedBy: Pick<TestPreparation, "profile" | "rules" | "standards">;
  /** The date being fetched; null when what holds on the form's date is here. */
  waitsFor: string | null;
  error: Error | null;
  onRetry: () => void;
}

/**
 * Rules, and standards with their calibrations, of the date that stands in the form: fetched again when it becomes
 * another day, so that the screen judges as the service will. Everything else stays as it was when the form opened,
 * and so does what was typed.
 *
 * @param opened    what was fetched when the form opened
 * @param openedOn  local date that it is of
 * @param amends    the test that is amended
 */
export function useDatedPreparation(
  form: Pick<TestForm, "performedAt" | "openedAt">,
  { opened, openedOn, amends }: { opened: TestPreparation; openedOn: string; amends?: string },
): DatedPreparation {
  const { timeZone } = useShop();
  const performedAt = performedInstant(form, timeZone);
  const on = performedAt === null ? openedOn : formatLocalDate(performedAt, timeZone);
  const isOther = on !== openedOn;
  const dated = useQuery({
    ...operationOptions(prepareMeterTest, {
      params: { id: opened.meter.id },
      query: amends === undefined ? { on } : { on, amends },
    }),
    enabled: isOther,
    placeholderData: keepPreviousData,
    refetchOnWindowFocus: false,
    refetchOnReconnect: false,
  });
  return {
    judgedBy: isOther ? (dated.data ?? opened) : opened,
    waitsFor: isOther && (dated.data === undefined || dated.isPlaceholderData) ? on : null,
    error: isOther ? dated.error : null,
    onRetry: () => void dated.refetch(),
  };
}
