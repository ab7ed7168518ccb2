import { getFile } from "@sealbook/contract/files";
import { queryOptions } from "@tanstack/react-query";
import { areaKey } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";

const longestLine = 65_536;

/**
 * The first line of a kept file; of a large file no more is fetched than holds it. Nothing where it cannot be fetched:
 * it only spares a person one choice.
 */
export function firstLineOptions(fileId: string) {
  return queryOptions({
    queryKey: [...areaKey("files"), "first line", fileId],
    queryFn: ({ signal }) => readFirstLine(fileId, signal),
    staleTime: Number.POSITIVE_INFINITY,
  });
}

async function readFirstLine(fileId: string, signal: AbortSignal): Promise<string> {
  let text = "";
  try {
    const response = await fetch(operationUrl(getFile, { id: fileId }), {
      credentials: "same-origin",
      signal,
    });
    if (!response.ok || response.body === null) return "";
    const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
    for (;;) {
      const { done, value } = await reader.read();
      text += value ?? "";
      const end = text.search(/[\r\n]/);
      if (!done && end < 0 && text.length <= longestLine) continue;
      await reader.cancel();
      return end < 0 ? text : text.slice(0, end);
    }
  } catch (cause) {
    if (signal.aborted) throw cause;
    return "";
  }
}
