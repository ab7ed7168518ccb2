import { type Import, type ImportMapping, listImportProblems } from "@sealbook/contract/imports";
import { listStandards } from "@sealbook/contract/standards";
import { listTestPlans } from "@sealbook/contract/test-plans";
import { useQuery } from "@tanstack/react-query";
import { operationOptions, wholeListOptions } from "../../api/operation-options.ts";
import { useShop } from "../../api/use-shop.ts";
import { EditMapping } from "./edit-mapping.tsx";
import { firstLineOptions } from "./first-line.ts";
import { formFromMapping } from "./form-from-mapping.ts";
import type { MappingForm } from "./mapping-form.ts";
import { newMappingForm } from "./new-mapping-form.ts";
import { separatorOf } from "./separator-of.ts";
import { WhenFetched } from "./when-fetched.tsx";
import { withWordsSetAside } from "./with-words-set-aside.ts";

interface Opened {
  of: Import;
  onSaved: (mapping: ImportMapping, then: "check" | "stay") => Promise<void>;
  onClose: () => void;
}

/** The form of a new mapping, blank or a copy of a saved one. */
export function NewMapping({ from, ...opened }: Opened & { from: ImportMapping | null }) {
  const { of } = opened;
  const { timeZone } = useShop();
  const firstLine = useQuery(firstLineOptions(of.file.id));
  return (
    <WhenFetched query={firstLine} what="the file's first line">
      {(line) => (
        <WithChoices
          {...opened}
          changed={null}
          fresh={() =>
            from === null
              ? newMappingForm(of, { separator: separatorOf(line, of.headings.length), timeZone })
              : { ...formFromMapping(from, of.headings), name: "" }
          }
        />
      )}
    </WhenFetched>
  );
}

/** The form of a saved mapping; words that the last dry run did not know stand in it, to be given a meaning. */
export function ChangeMapping({ mapping, ...opened }: Opened & { mapping: ImportMapping }) {
  const { of } = opened;
  const problems = useQuery(
    operationOptions(listImportProblems, { params: { id: of.id }, query: { limit: 200 } }),
  );
  return (
    <WhenFetched query={problems} what="the words that the dry run did not know">
      {({ rows }) => (
        <WithChoices
          {...opened}
          changed={mapping}
          fresh={() => withWordsSetAside(formFromMapping(mapping, of.headings), rows)}
        />
      )}
    </WhenFetched>
  );
}

/** The form with what it offers: test plans, whose points columns can mean, and standards. */
function WithChoices(form: Opened & { changed: ImportMapping | null; fresh: () => MappingForm }) {
  // A maker's list names neither plans nor standards.
  return form.of.kind === "meter-tests" ? (
    <WithTestChoices {...form} />
  ) : (
    <EditMapping {...form} plans={[]} standards={[]} />
  );
}

function WithTestChoices(form: Opened & { changed: ImportMapping | null; fresh: () => MappingForm }) {
  const plans = useQuery(wholeListOptions(listTestPlans, { query: {} }));
  const standards = useQuery(wholeListOptions(listStandards, { query: {} }));
  return (
    <WhenFetched query={plans} what="the test plans">
      {(allPlans) => (
        <WhenFetched query={standards} what="the standards">
          {(allStandards) => <EditMapping {...form} plans={allPlans.rows} standards={allStandards.rows} />}
        </WhenFetched>
      )}
    </WhenFetched>
  );
}
