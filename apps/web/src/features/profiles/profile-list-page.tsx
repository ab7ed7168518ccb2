import { listProfiles } from "@sealbook/contract/profiles";
import { Link } from "@tanstack/react-router";
import { useMay } from "../../api/use-may.ts";
import { useShop } from "../../api/use-shop.ts";
import { paths } from "../../paths.ts";
import { PagedTable } from "../../trade/paged-table.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { Empty } from "../../ui/empty.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { ProfileStandingMark } from "./profile-standing-mark.tsx";

/** The rule profiles that tests are judged by. */
export function ProfileListPage() {
  const { homeJurisdiction } = useShop();
  const mayPropose = useMay("profile.propose");
  return (
    <div className="stack">
      <PageHeader
        title="Rules"
        note="What the rules of each place say about testing meters, as data with citations. A profile never changes: new knowledge makes a new version, which another person approves, and each test keeps the version it was judged under."
        actions={
          mayPropose ? <ButtonLink to={paths.proposeRules()}>Propose a version</ButtonLink> : undefined
        }
      />
      <PagedTable
        operation={listProfiles}
        input={{}}
        caption="Rule profiles in force, and those proposed"
        noun={["profile", "profiles"]}
        rowKey={(profile) => profile.id}
        columns={[
          {
            heading: "Rules",
            isRowHeader: true,
            cell: (profile) => <Link to={paths.rule(profile.id)}>{profile.title}</Link>,
          },
          { heading: "Place", cell: (profile) => profile.place, isNarrowHidden: true },
          {
            heading: "Key",
            cell: (profile) => (
              <>
                <code>{profile.key}</code>
                {profile.key === homeJurisdiction ? <span className="quiet"> home of this shop</span> : null}
              </>
            ),
            isNowrap: true,
          },
          { heading: "Version", cell: (profile) => profile.version, isNumeric: true },
          {
            heading: "Stands",
            cell: (profile) => <ProfileStandingMark standing={profile.standing} />,
            isNowrap: true,
          },
          {
            heading: "Text read on",
            cell: (profile) =>
              profile.citations
                .map((citation) => citation.dateRead)
                .sort()
                .at(-1) ?? "–",
            isNowrap: true,
            isNarrowHidden: true,
          },
        ]}
        empty={<Empty title="No rule profile is on record yet." />}
      />
    </div>
  );
}
