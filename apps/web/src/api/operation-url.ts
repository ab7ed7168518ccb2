import type { Operation } from "@sealbook/contract/operation";

/** Values of the path or the query; what is undefined, null or empty is left out of the query. */
export type UrlValues = Readonly<Record<string, unknown>>;

/**
 * Address of an operation below /api, for requests and for plain links to files.
 *
 * @throws RangeError if a parameter of the path has no value
 * @example operationUrl(getTestCertificate, { id }) // "/api/meter-tests/<id>/certificate.pdf"
 */
export function operationUrl(
  operation: Pick<Operation, "path">,
  params: UrlValues = {},
  query: UrlValues = {},
): string {
  const path = operation.path.replace(/:(\w+)/g, (_, name: string) => {
    const value = params[name];
    if (value === undefined || value === null || value === "") {
      throw new RangeError(`the path ${operation.path} needs a value for "${name}"`);
    }
    return encodeURIComponent(String(value));
  });
  const search = new URLSearchParams();
  for (const [name, value] of Object.entries(query)) {
    if (value !== undefined && value !== null && value !== "") search.set(name, String(value));
  }
  const text = search.toString();
  return `/api${path}${text === "" ? "" : `?${text}`}`;
}
