import { paths } from "../paths.ts";
import { ButtonLink } from "../ui/button-link.tsx";
import { PageHeader } from "../ui/page-header.tsx";

/** Stands where no page has the address. */
export function NotFoundPage() {
  return (
    <div className="stack">
      <PageHeader
        title="No page here"
        note="Nothing in the book has this address. Check it, or go on from your first page."
      />
      <div>
        <ButtonLink to={paths.home()}>Go to your first page</ButtonLink>
      </div>
    </div>
  );
}
