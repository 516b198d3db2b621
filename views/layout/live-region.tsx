import type { PropsWithChildren } from "hono/jsx";
import type { LiveTopic } from "../../server/live.ts";

interface LiveRegionProps {
  /** Unique on its page, and the same on every rendering: the refreshed page is searched for it. */
  readonly id: string;
  readonly topics: readonly LiveTopic[];
  /** The page this region stands on; it is asked for again and only the region is taken from the answer. */
  readonly url: string;
}

// What a page asks for by itself is no sign that anyone is there: it doesn't keep the session alive.
const refreshMark = '{"Cushionry-Refresh": "1"}';

/** A part of the page that renews itself when something it shows has changed.
 *
 *  The first element keeps the event stream open; the stream only names what changed. The second asks the same page
 *  again, through the same permission check, and morphs itself into the answer, so that focus, open details and
 *  half-typed fields stay. Failures of a refresh leave what is there. Without JavaScript it is a plain part of a
 *  plain page. Each region holds one connection: use one a page. */
export function LiveRegion({ id, topics, url, children }: PropsWithChildren<LiveRegionProps>) {
  const stream = `${id}-stream`;
  const quietOnFailure = { "hx-status:4xx": "swap:none", "hx-status:5xx": "swap:none" };
  return (
    <>
      <span
        id={stream}
        hidden
        hx-sse:connect={`/live?topics=${encodeURIComponent(topics.join(","))}`}
        hx-swap="none"
        hx-headers={refreshMark}
      />
      <div
        id={id}
        class="live"
        hx-get={url}
        hx-trigger={`changed from:#${stream}`}
        hx-select={`#${id}`}
        hx-swap="outerMorph"
        hx-headers={refreshMark}
        {...quietOnFailure}
      >
        {children}
      </div>
    </>
  );
}
