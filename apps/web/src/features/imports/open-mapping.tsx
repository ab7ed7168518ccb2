import { type Import, type ImportMapping, listImportProblems } from "@sealbook/contract/imports";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { EditMapping } from "./edit-mapping.tsx";
import { firstLineOptions } from "./first-line.ts";
import { formFromMapping } from "./form-from-mapping.ts";
import { newMappingForm } from "./new-mapping-form.ts";
import { separatorOf } from "./separator-of.ts";
import { withWordsSetAside } from "./with-words-set-aside.ts";

interface Opened {
  of: Import;
  onSaved: (mapping: ImportMapping, then: "check" | "stay") => Promise<void>;
  onClose: () => void;
}

/** The form of a new mapping, blank or a copy of a saved one. */
export function NewMapping({ of, from, ...then }: Opened & { from: ImportMapping | null }) {
  const { timeZone } = useShop();
  const { data: firstLine } = useSuspenseQuery(firstLineOptions(of.file.id));
  const fresh = () => {
    if (from !== null) return { ...formFromMapping(from, of.headings), name: "" };
    return newMappingForm(of, { separator: separatorOf(firstLine, of.headings.length), timeZone });
  };
  return <EditMapping of={of} changed={null} fresh={fresh} {...then} />;
}

/** The form of a saved mapping; words that the last dry run did not know stand in it, to be given a meaning. */
export function ChangeMapping({ of, mapping, ...then }: Opened & { mapping: ImportMapping }) {
  const { data } = useSuspenseQuery(
    operationOptions(listImportProblems, { params: { id: of.id }, query: { limit: 200 } }),
  );
  const fresh = () => withWordsSetAside(formFromMapping(mapping, of.headings), data.rows);
  return <EditMapping of={of} changed={mapping} fresh={fresh} {...then} />;
}
