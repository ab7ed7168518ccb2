import "./profile-page.css";
import { getProfile } from "@sealbook/contract/profiles";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useMay } from "../../api/use-may.ts";
import { paths } from "../../paths.ts";
import { LocalInstant } from "../../trade/local-instant.tsx";
import { ButtonLink } from "../../ui/button-link.tsx";
import { DataTable } from "../../ui/data-table.tsx";
import { Notice } from "../../ui/notice.tsx";
import { PageHeader } from "../../ui/page-header.tsx";
import { Panel } from "../../ui/panel.tsx";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { DecideProfileForm } from "./decide-profile-form.tsx";
import { ProfileBillAdjustment } from "./profile-bill-adjustment.tsx";
import { ProfileJudging } from "./profile-judging.tsx";
import { ProfileStandingMark } from "./profile-standing-mark.tsx";
import { ProfileTiming } from "./profile-timing.tsx";
import { ProfileVersions } from "./profile-versions.tsx";
import { readProfile } from "./read-profile.ts";

/** One version of a rule profile, readable: what it limits, by which text, read when. */
export function ProfilePage() {
  const profileId = useRouteParam("profileId");
  const { data: view } = useSuspenseQuery(operationOptions(getProfile, { params: { id: profileId } }));
  const profile = readProfile(view.body);
  const mayPropose = useMay("profile.propose");
  return (
    <div className="stack">
      <PageHeader
        title={view.title}
        note={
          <>
            {view.place} · <code>{view.key}</code>, version {view.version} · on record since{" "}
            <LocalInstant instant={view.recordedAt} /> · <ProfileStandingMark standing={view.standing} />
          </>
        }
        actions={
          mayPropose ? (
            <ButtonLink to={paths.proposeRules()} search={{ from: view.id }}>
              Propose the next version
            </ButtonLink>
          ) : undefined
        }
      />
      <Notice tone="warn" title={view.caution} />
      <DecideProfileForm profile={view} />
      <Panel title="Texts">
        <DataTable
          caption="Texts that the profile rests on"
          rows={view.citations}
          rowKey={(citation) => `${citation.title} ${citation.where}`}
          columns={[
            { heading: "Rule", isRowHeader: true, cell: (citation) => citation.title },
            {
              heading: "Where",
              cell: (citation) => <CitedPlace where={citation.where} />,
            },
            { heading: "Read on", cell: (citation) => citation.dateRead, isNowrap: true },
            { heading: "How it was read", cell: (citation) => citation.howRead, isNarrowHidden: true },
          ]}
        />
      </Panel>
      {profile === null ? (
        <Notice title="The profile's form is newer than this page; it stands below as it is stored." />
      ) : (
        <>
          <ProfileJudging profile={profile} />
          <ProfileTiming profile={profile} />
          <ProfileBillAdjustment rule={profile.billAdjustment} />
          {profile.gaps.length === 0 ? null : (
            <Panel title="What was not read">
              <p>The rule may say more on these; each is asked of a person.</p>
              <ul>
                {profile.gaps.map((gap) => (
                  <li key={gap}>{gap}</li>
                ))}
              </ul>
            </Panel>
          )}
          {profile.notes.length === 0 ? null : (
            <Panel title="Notes">
              <ul>
                {profile.notes.map((note) => (
                  <li key={note}>{note}</li>
                ))}
              </ul>
            </Panel>
          )}
        </>
      )}
      <ProfileVersions profile={view} />
      <details open={profile === null}>
        <summary>The whole profile as stored</summary>
        <pre className="profile-raw">{view.body}</pre>
      </details>
    </div>
  );
}

/** Where a text was read: a link where it is an address that can be opened. */
function CitedPlace({ where }: { where: string }) {
  if (!where.startsWith("https://")) return <span className="profile-source">{where}</span>;
  return (
    <a className="profile-source" href={where} target="_blank" rel="noreferrer">
      {where}
    </a>
  );
}
