import "./profile-page.css";
import { getProfile } from "@sealbook/contract/profiles";
import { compareProfiles } from "@sealbook/metrology/profiles/compare-profiles";
import { useSuspenseQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";
import { DataTable } from "../../ui/data-table.tsx";
import { Empty } from "../../ui/empty.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { fieldWords } from "./profile-words.ts";
import { readProfile } from "./read-profile.ts";

/** Two versions of a place's rules, field by field. */
export function CompareProfilesPage() {
  const beforeId = useRouteParam("beforeId");
  const afterId = useRouteParam("afterId");
  const { data: before } = useSuspenseQuery(operationOptions(getProfile, { params: { id: beforeId } }));
  const { data: after } = useSuspenseQuery(operationOptions(getProfile, { params: { id: afterId } }));
  const [older, newer] = [readProfile(before.body), readProfile(after.body)];
  const found = older === null || newer === null ? null : compareProfiles(older, newer);
  return (
    <div className="stack">
      <PageHeader
        title={`${after.title}: what changed`}
        note={
          <>
            <Link to={paths.rule(before.id)}>
              {before.key}, version {before.version}
            </Link>{" "}
            against{" "}
            <Link to={paths.rule(after.id)}>
              {after.key}, version {after.version}
            </Link>
          </>
        }
      />
      {found === null ? (
        <Notice
          tone="warn"
          title="One of the versions has a form that this page does not know; open each to read it as it is stored."
        />
      ) : found.length === 0 ? (
        <Empty title="The two versions say the same." />
      ) : (
        <DataTable
          caption="Fields that differ"
          rows={found}
          rowKey={(row) => row.path.join(" / ")}
          columns={[
            { heading: "Field", isRowHeader: true, cell: (row) => row.path.map(fieldWords).join(" · ") },
            { heading: `Version ${before.version}`, cell: (row) => <Side text={row.before} /> },
            { heading: `Version ${after.version}`, cell: (row) => <Side text={row.after} /> },
          ]}
        />
      )}
    </div>
  );
}

function Side({ text }: { text: string | null }) {
  return text === null ? (
    <span className="quiet">not there</span>
  ) : (
    <span className="profile-side">{text}</span>
  );
}
