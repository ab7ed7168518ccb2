import { getScheme } from "@sealbook/contract/sampling-schemes";
import { useSuspenseQuery } from "@tanstack/react-query";
import { operationOptions } from "../../api/operation-options.ts";
import { useRouteParam } from "../../ui/use-route-param.ts";
import { SchemeForm } from "./scheme-form.tsx";

/** Writes the next revision of a scheme, beginning with what the present one says. */
export function ReviseSchemePage() {
  const schemeId = useRouteParam("schemeId");
  const { data: scheme } = useSuspenseQuery(operationOptions(getScheme, { params: { id: schemeId } }));
  return <SchemeForm key={scheme.id} first={scheme.body} asks={[]} name={scheme.name} revised={scheme} />;
}
