import "./shell.css";
import { Link, Outlet } from "@tanstack/react-router";
import { useState } from "react";
import { useAccount } from "../api/use-account.ts";
import { useMay } from "../api/use-may.ts";
import { useShop } from "../api/use-shop.ts";
import { paths } from "../paths.ts";
import { Button } from "../ui/button.tsx";
import { ChooseOwnPassword } from "./choose-own-password.tsx";
import { FindBox } from "./find-box.tsx";
import { LostHistoryBanner } from "./lost-history-banner.tsx";
import { PageAnnouncement } from "./page-announcement.tsx";
import { Rail } from "./rail.tsx";
import { SignInAgain } from "./sign-in-again.tsx";
import { SignedInPerson } from "./signed-in-person.tsx";
import { ThemeSwitch } from "./theme-switch.tsx";

/** What stands around every page: the rail, the find box, who is signed in. */
export function Shell() {
  const [isMenuOpen, setMenuOpen] = useState(false);
  const shop = useShop();
  const { mustChangePassword } = useAccount();
  const mayFind = useMay("meter.read");
  return (
    <div className="shell">
      <a className="skip-link" href="#main">
        Skip to the page
      </a>
      <header className="shell-head">
        <div className="shell-brand">
          <Link to={paths.home()}>Sealbook</Link>
          <span className="shell-menu-button">
            <Button aria-expanded={isMenuOpen} aria-controls="rail" onClick={() => setMenuOpen(!isMenuOpen)}>
              Menu
            </Button>
          </span>
        </div>
        <div className="shell-top">
          {mustChangePassword || !mayFind ? <span /> : <FindBox />}
          <div className="shell-person">
            <span className="quiet shell-shop">{shop.demo ? `${shop.name} (demo)` : shop.name}</span>
            <SignedInPerson />
            <ThemeSwitch />
          </div>
        </div>
      </header>
      {mustChangePassword ? (
        <nav className="shell-rail" id="rail" aria-label="Parts of the book" />
      ) : (
        <Rail isOpen={isMenuOpen} onNavigate={() => setMenuOpen(false)} />
      )}
      <main className="shell-main" id="main" tabIndex={-1}>
        {mustChangePassword ? null : <LostHistoryBanner />}
        {mustChangePassword ? <ChooseOwnPassword /> : <Outlet />}
      </main>
      <PageAnnouncement />
      <SignInAgain />
    </div>
  );
}
