import { problems } from "@sealbook/contract/problems";
import { ProblemError } from "../api/problem-error.ts";

/** The code of a page did not come. Browsers may remember that, so only loading the document anew asks for it again. */
export class PageNotFetchedError extends ProblemError {}

/**
 * Fetches the code of a page. Where it cannot be had, the person is told as of any lost connection, and nothing is
 * loaded anew behind their back: a form that stands open keeps what was typed.
 *
 * @throws PageNotFetchedError ("unavailable") when the code does not come
 */
export async function fetchPage<Module>(load: () => Promise<Module>): Promise<Module> {
  try {
    return await load();
  } catch (cause) {
    const problem = new PageNotFetchedError({
      type: "/problems/unavailable",
      status: problems.unavailable.status,
      title: "This page could not be fetched",
      detail: navigator.onLine
        ? "The service may have been renewed since you opened it. Load the page anew to go on."
        : "There is no connection. Check it and try again.",
    });
    problem.cause = cause;
    throw problem;
  }
}
