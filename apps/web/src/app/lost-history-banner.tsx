import { getLostHistory } from "@sealbook/contract/log-heads";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../api/operation-options.ts";
import { paths } from "../paths.ts";
import { Notice } from "../ui/notice.tsx";

const askEvery = 60_000;

/** Stands over every page while nothing can be recorded because a part of the history is lost. */
export function LostHistoryBanner() {
  const { data } = useQuery({ ...operationOptions(getLostHistory, {}), refetchInterval: askEvery });
  if (data?.lost == null) return null;
  return (
    <Notice tone="bad" title="Only reading: nothing can be recorded at present" isAnnounced>
      <p>
        This database is older than a head of its log that has left it. An administrator finds out what
        happened and signs it under <Link to={paths.signedLog()}>Signed log</Link>; then work goes on.
      </p>
    </Notice>
  );
}
