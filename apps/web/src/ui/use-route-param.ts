import { useParams } from "@tanstack/react-router";

/**
 * A parameter of the page's address.
 *
 * @throws RangeError if the route has no parameter of this name
 */
export function useRouteParam(name: string): string {
  const params: Readonly<Record<string, string | undefined>> = useParams({ strict: false });
  const value = params[name];
  if (value === undefined) throw new RangeError(`this page's address has no "${name}"`);
  return value;
}
