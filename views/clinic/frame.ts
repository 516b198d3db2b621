import type { LocalDay } from "../../server/domain/time/local-day.ts";
import type { PageProps, Reader } from "../layout/page.tsx";

/** What every page of this desk gets besides its own content. */
export interface ClinicFrame extends Omit<PageProps, "title" | "signedIn"> {
  readonly signedIn: Reader;
  /** The page tells what was known at the end of this day. null: what is known now. */
  readonly knownOn: LocalDay | null;
}
