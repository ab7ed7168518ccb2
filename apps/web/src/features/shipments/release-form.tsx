import { listPlaces } from "@sealbook/contract/places";
import type { Lot } from "@sealbook/contract/sampling";
import { releaseShipment } from "@sealbook/contract/shipments";
import { useQuery } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { wholeListOptions } from "../../api/operation-options.ts";
import { useSubmission } from "../../api/use-submission.ts";
import { useRefreshOnClash } from "../../trade/lots/use-refresh-on-clash.ts";
import { SubmissionSummary } from "../../trade/submission-summary.tsx";
import { Button } from "../../ui/button.tsx";
import { fieldId } from "../../ui/field-id.ts";
import { Select } from "../../ui/select.tsx";

/** Puts the meters of an accepted shipment in stock. */
export function ReleaseForm({ lot }: { lot: Lot }) {
  const places = useQuery(wholeListOptions(listPlaces, { query: {} }));
  const stores = (places.data?.rows ?? []).filter(({ kind }) => kind === "store" || kind === "shelf");
  const [placeId, setPlaceId] = useState("");
  const chosen = placeId === "" && stores.length === 1 ? (stores[0]?.id ?? "") : placeId;
  const submission = useSubmission(releaseShipment, { touches: ["sampling", "meters"] });
  useRefreshOnClash(submission.problem);
  const save = (event: FormEvent) => {
    event.preventDefault();
    if (chosen === "") {
      submission.refuse([{ pointer: "/placeId", detail: "Choose the store." }]);
      return;
    }
    void submission.submit({ params: { id: lot.id }, version: lot.version, body: { placeId: chosen } });
  };
  return (
    <form className="stack" onSubmit={save}>
      <SubmissionSummary submission={submission} names={{ "/placeId": "Store" }} />
      <p>Accepted: the meters go to stock. Those found nonconforming or untestable are held back.</p>
      <div className="row-fields">
        <Select
          label="Store"
          id={fieldId("/placeId")}
          value={chosen}
          onChange={setPlaceId}
          placeholder="Choose the store"
          options={stores.map((place) => ({ value: place.id, label: place.name }))}
          error={places.error === null ? submission.errorAt("/placeId") : places.error.message}
        />
      </div>
      <div>
        <Button type="submit" kind="primary" isPending={submission.pending}>
          {submission.pending ? "Releasing" : "Release to stock"}
        </Button>
      </div>
    </form>
  );
}
