import type { PageProps, Reader } from "../layout/page.tsx";

/** What every page of this desk gets besides its own content. */
export interface BenchFrame extends Omit<PageProps, "title" | "signedIn"> {
  readonly signedIn: Reader;
}
