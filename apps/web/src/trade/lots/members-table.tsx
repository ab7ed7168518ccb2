import { type Lot, listLotMembers } from "@sealbook/contract/sampling";
import { Link } from "@tanstack/react-router";
import { paths } from "../../paths.ts";
import { Empty } from "../../ui/empty.tsx";
import { PagedTable } from "../paged-table.tsx";

/** The meters of a lot by utility number, with the maker's own results where there are any. */
export function MembersTable({ lot }: { lot: Lot }) {
  return (
    <PagedTable
      operation={listLotMembers}
      input={{ params: { id: lot.id } }}
      caption={`Meters of lot ${lot.number}`}
      noun={["meter", "meters"]}
      rowKey={(member) => member.meterId}
      columns={[
        {
          heading: "Number",
          isRowHeader: true,
          isNowrap: true,
          cell: (member) => <Link to={paths.meter(member.meterId)}>{member.utilityNumber}</Link>,
        },
        { heading: "Serial", cell: (member) => member.serial, isNowrap: true },
        {
          heading: "Maker and model",
          cell: (member) => `${member.maker} ${member.model}`,
          isNarrowHidden: true,
        },
        ...(lot.makerResults === 0
          ? []
          : [
              {
                heading: "Maker's own results, for information",
                cell: (member: { makerResult: { label: string; registrationPercent: string }[] }) =>
                  member.makerResult
                    .map((result) => `${result.label} ${result.registrationPercent} %`)
                    .join(", ") || "–",
              },
            ]),
      ]}
      empty={<Empty title="No meter is in the lot yet." />}
    />
  );
}
