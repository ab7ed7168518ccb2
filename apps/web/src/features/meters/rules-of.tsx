import { listProfiles } from "@sealbook/contract/profiles";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { wholeListOptions } from "../../api/operation-options.ts";
import { paths } from "../../paths.ts";

/** Whose rules judge a meter: the place by its name, leading to its profile; its key until that is known. */
export function RulesOf({ jurisdiction }: { jurisdiction: string }) {
  const profiles = useQuery(wholeListOptions(listProfiles, { query: {} }));
  const profile = profiles.data?.rows.find(({ key }) => key === jurisdiction);
  if (profile === undefined) return <Link to={paths.rules()}>{jurisdiction}</Link>;
  return <Link to={paths.rule(profile.id)}>{profile.place}</Link>;
}
