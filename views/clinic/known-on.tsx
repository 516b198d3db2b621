import type { LocalDay } from "../../server/domain/time/local-day.ts";
import { dayWords } from "../layout/words.ts";
import type { ClinicFrame } from "./frame.ts";

/** The same address as known on that day, so that a link followed from there doesn't come back to today unnoticed. */
export function asKnown(day: LocalDay | null, href: string): string {
  if (day === null) return href;
  const [path, fragment] = href.split("#");
  const query = `${path?.includes("?") ? "&" : "?"}asKnownOn=${day}`;
  return `${path}${query}${fragment === undefined ? "" : `#${fragment}`}`;
}

interface KnownOnProps {
  readonly frame: ClinicFrame;
  /** The page as it is now. */
  readonly href: string;
}

/** Stands first on a page that tells what was known on an earlier day. */
export function KnownOnNotice({ frame, href }: KnownOnProps) {
  return frame.knownOn === null ? null : (
    <p class="notice" role="note">
      As known at the end of {dayWords(frame.knownOn)}: what arrived or was written later is left out, and
      nothing can be changed here. <a href={href}>As known now</a>
    </p>
  );
}

/** Asks for the same page as known on an earlier day. @param keep what else its address says */
export function KnownOnForm({
  frame,
  href,
  keep = {},
}: KnownOnProps & { readonly keep?: Readonly<Record<string, string>> }) {
  return (
    <form method="get" action={href} class="screen-only">
      {Object.entries(keep).map(([name, value]) => (
        <input type="hidden" name={name} value={value} />
      ))}
      <label for="known-on">This page as known at the end of</label>{" "}
      <input id="known-on" name="asKnownOn" type="date" value={frame.knownOn ?? undefined} required />{" "}
      <button type="submit" class="quiet">
        Show
      </button>
    </form>
  );
}
