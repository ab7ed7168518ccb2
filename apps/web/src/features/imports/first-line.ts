import { getFile } from "@sealbook/contract/files";
import { queryOptions } from "@tanstack/react-query";
import { areaKey } from "../../api/operation-options.ts";
import { operationUrl } from "../../api/operation-url.ts";

const longestLine = 65_536;

/** The first line of a kept file. Of a large file no more is fetched than holds it. */
export function firstLineOptions(fileId: string) {
  return queryOptions({
    queryKey: [...areaKey("files"), "first line", fileId],
    queryFn: ({ signal }) => readFirstLine(fileId, signal),
    staleTime: Number.POSITIVE_INFINITY,
  });
}

async function readFirstLine(fileId: string, signal: AbortSignal): Promise<string> {
  const response = await fetch(operationUrl(getFile, { id: fileId }), { credentials: "same-origin", signal });
  if (!response.ok || response.body === null) return "";
  const reader = response.body.getReader();
  const decoder = new TextDecoder();
  let text = "";
  for (;;) {
    const { done, value } = await reader.read();
    text += decoder.decode(value, { stream: !done });
    const end = text.search(/[\r\n]/);
    if (end >= 0 || done || text.length > longestLine) {
      await reader.cancel();
      return end < 0 ? text : text.slice(0, end);
    }
  }
}
