import { listMeterTests } from "@sealbook/contract/meter-tests";
import { may } from "@sealbook/contract/permissions";
import { useQuery } from "@tanstack/react-query";
import { Link } from "@tanstack/react-router";
import { operationOptions } from "../api/operation-options.ts";
import { useAccount } from "../api/use-account.ts";
import { paths } from "../paths.ts";
import { destinations } from "./navigation.ts";

/** The way to every part of the book that the signed-in person may open. */
export function Rail({ isOpen, onNavigate }: { isOpen: boolean; onNavigate: () => void }) {
  const { role, places } = useAccount();
  // Somebody who works at one place finds its meters first; the list's filter opens the rest.
  const [place, ...others] = places;
  const ownPlace = place === undefined || others.length > 0 ? undefined : { placeId: place.id };
  return (
    <nav className="shell-rail" id="rail" aria-label="Parts of the book" data-open={isOpen}>
      <ul>
        {destinations
          .filter((destination) => may(role, destination.permission))
          .map((destination) => (
            <li
              key={destination.to}
              className={destination.isBreak === true ? "shell-rail-break" : undefined}
            >
              <Link
                to={destination.to}
                {...(destination.to === paths.meters() && ownPlace !== undefined ? { search: ownPlace } : {})}
                onClick={onNavigate}
                activeProps={{ "aria-current": "page" }}
              >
                <span>{destination.label}</span>
                {destination.hasTrayCount === true ? <TrayCount /> : null}
              </Link>
            </li>
          ))}
      </ul>
    </nav>
  );
}

/** How many of one's own tests wait for a signature. */
function TrayCount() {
  const { data } = useQuery(
    operationOptions(listMeterTests, { query: { unsignedByMe: "true", limit: 100 } }),
  );
  if (data === undefined || data.rows.length === 0) return null;
  return (
    <span className="shell-count">
      {data.rows.length}
      {data.next === null ? "" : "+"}
      <span className="visually-hidden"> waiting</span>
    </span>
  );
}
