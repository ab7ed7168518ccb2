/**
 * Header that makes a browser save a download under its name, whatever characters the name has.
 *
 * @source RFC 6266 section 4.3 and appendix D (a plain name for old programs beside filename*); RFC 8187 section 3.2
 * @example contentDisposition("Prüfung.csv") // attachment; filename="Pr_fung.csv"; filename*=UTF-8''Pr%C3%BCfung.csv
 */
export function contentDisposition(name: string): string {
  const plain = name.replace(/[^\x20-\x7e]/g, "_").replace(/["\\%]/g, "_");
  const encoded = encodeURIComponent(name).replace(
    /['()*]/g,
    (character) => `%${character.charCodeAt(0).toString(16).toUpperCase()}`,
  );
  return `attachment; filename="${plain}"; filename*=UTF-8''${encoded}`;
}
