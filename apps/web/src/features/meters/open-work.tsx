import { listWorkItems, testReasonNames } from "@sealbook/contract/work-items";
import { useQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { PersonName } from "../../trade/person-name.tsx";
import { ProblemNotice } from "../../trade/problem-notice.tsx";
import { Notice } from "../../ui/notice.tsx";

/** Why somebody waits for a test of this meter; nothing where nobody does. */
export function OpenWork({ meterId }: { meterId: string }) {
  const work = useQuery(operationOptions(listWorkItems, { query: { meterId, limit: 50 } }));
  const { today } = useShop();
  if (work.error !== null) return <ProblemNotice error={work.error} onRetry={() => void work.refetch()} />;
  if (work.data === undefined || work.data.rows.length === 0) return null;
  return (
    <Notice title="A test is asked for">
      <ul>
        {work.data.rows.map((item) => (
          <li key={item.id}>
            {testReasonNames[item.reason]}
            {item.dueOn === null ? "" : `, due ${item.dueOn}`}
            {item.dueOn !== null && item.dueOn < today ? " (late)" : ""}
            {item.note === "" ? "" : ` · ${item.note}`}
            <span className="quiet">
              {" · "}
              asked by <PersonName person={item.openedBy} />
            </span>
          </li>
        ))}
      </ul>
    </Notice>
  );
}
