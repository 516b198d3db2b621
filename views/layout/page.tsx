import { raw } from "hono/html";
import type { PropsWithChildren } from "hono/jsx";
import type { Role } from "../../server/domain/access/roles.ts";
import type { StorageFault } from "../../server/domain/storage-fault.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { assetAddress } from "../assets/addresses.ts";
import { CsrfField } from "./forms.tsx";
import { StorageNotice } from "./storage-notice.tsx";
import { dateTimeWords } from "./words.ts";

/** What a page needs to know of its reader. */
export interface Reader {
  readonly staff: { readonly name: string; readonly role: Role };
  readonly csrfToken: string;
  readonly invented?: boolean;
  /** Why nothing can be saved at the moment. */
  readonly storageFault?: StorageFault | null;
}

interface Place {
  readonly href: string;
  readonly words: string;
}

export interface PageProps {
  /** Becomes the document's title; the page's own h1 is the page's business. */
  readonly title: string;
  readonly signedIn?: Reader | undefined;
  readonly zone: ZoneName;
  readonly now: Instant;
  /** Where this page is, so that the navigation can mark it. */
  readonly path?: string;
  /** False leaves the scripts out, for pages that are only printed. */
  readonly live?: boolean;
  /** Pages of the same desk, under its heading. */
  readonly sections?: readonly Place[];
  /** True when the programme on screen is invented; a signed-in reader carries it already. */
  readonly invented?: boolean;
}

const desks: Readonly<Record<Role, readonly Place[]>> = {
  coordinator: [{ href: "/stores", words: "Stores" }],
  technician: [{ href: "/bench", words: "Bench" }],
  clinician: [{ href: "/clinic", words: "Clinic" }],
  administrator: [
    { href: "/staff", words: "Staff" },
    { href: "/settings", words: "Assumptions" },
    { href: "/bench/equipment", words: "Rigs and weights" },
    { href: "/audit", words: "Audit" },
  ],
};

/** A whole document. */
export function Page(props: PropsWithChildren<PageProps>) {
  const { title, signedIn, zone, now, children } = props;
  return (
    <>
      {raw("<!doctype html>")}
      <html lang="en">
        <head>
          <meta charset="utf-8" />
          <meta name="viewport" content="width=device-width, initial-scale=1" />
          <meta name="color-scheme" content="light dark" />
          <meta name="htmx-config" content="includeIndicatorCSS:false history:false" />
          <title>{`${title} · Cushionry`}</title>
          <link rel="icon" type="image/svg+xml" href={assetAddress("mark.svg")} />
          <link rel="stylesheet" href={assetAddress("cushionry.css")} />
          {signedIn && props.live !== false ? <script src={assetAddress("htmx.js")} defer /> : null}
        </head>
        <body>
          <a class="skip" href="#main">
            Skip to the page
          </a>
          {(signedIn?.invented ?? props.invented) ? <InventedData /> : null}
          {signedIn?.storageFault ? <StorageNotice fault={signedIn.storageFault} /> : null}
          <Masthead {...props} />
          <main id="main" tabindex={-1}>
            {children}
          </main>
          <footer class="colophon">
            <p>
              Times are those of {zone}. This page was made on {dateTimeWords(now, zone)}.
            </p>
          </footer>
        </body>
      </html>
    </>
  );
}

function InventedData() {
  return (
    <aside class="invented" aria-label="Invented data">
      <p>
        <strong>Invented data.</strong> Every person, unit and reading here was made up for a demonstration.
      </p>
    </aside>
  );
}

function Masthead({ signedIn, path, sections }: PageProps) {
  return (
    <header class="masthead">
      <p class="name">
        <a href="/">Cushionry</a>
      </p>
      {signedIn ? (
        <>
          <Desks places={[...desks[signedIn.staff.role], ...(sections ?? [])]} path={path} />
          <div class="who">
            <a href="/account" aria-current={path === "/account" ? "page" : undefined}>
              {signedIn.staff.name}
              <span class="role">, {signedIn.staff.role}</span>
            </a>
            <form method="post" action="/sign-out">
              <CsrfField signedIn={signedIn} />
              <button type="submit" class="quiet">
                Sign out
              </button>
            </form>
          </div>
        </>
      ) : null}
    </header>
  );
}

function Desks({ places, path }: { places: readonly Place[]; path: string | undefined }) {
  return (
    <nav aria-label="Desk">
      <ul>
        {places.map(({ href, words }) => (
          <li>
            <a href={href} aria-current={path === href ? "page" : undefined}>
              {words}
            </a>
          </li>
        ))}
      </ul>
    </nav>
  );
}
