import { setMaxListeners } from "node:events";
import { streamSSE } from "hono/streaming";
import { type Action, mayDo, type Role } from "../domain/access/roles.ts";
import type { LiveTopic } from "../live.ts";
import { sessionOf } from "../security/sessions.ts";
import type { Services } from "../services.ts";
import { type AppOptions, isSecure } from "./guard.tsx";
import { changesOf } from "./live-changes.ts";
import type { AppContext, Route } from "./route.ts";
import { sessionTokenOf } from "./session-cookie.ts";

const mostTopics = 50;
/** A page asks again at most this often. */
const shortestPause = 1_000;

/** What it takes to follow a topic. An event carries no data: the page asks again through its own check. The
 *  broker's own topic is followed by no page. */
const actionsFor: readonly {
  readonly prefix: string;
  readonly exact: boolean;
  readonly actions: readonly Action[];
}[] = [
  { prefix: "stores", exact: true, actions: ["see-stores-worklist"] },
  { prefix: "bench", exact: true, actions: ["see-bench-worklist"] },
  { prefix: "clinic", exact: true, actions: ["see-clinic-worklist"] },
  { prefix: "loan:", exact: false, actions: ["see-loans", "see-own-people"] },
  { prefix: "unit:", exact: false, actions: ["see-stock", "see-unit-health", "see-own-people"] },
  { prefix: "person:", exact: false, actions: ["see-own-people"] },
  { prefix: "stretch:", exact: false, actions: ["see-gap"] },
  { prefix: "incident:", exact: false, actions: ["see-incident"] },
];

/** @returns null when any topic is unknown or not for this role. */
export function topicsAllowed(role: Role, asked: string): readonly LiveTopic[] | null {
  const names = asked.split(",").filter((name) => name !== "");
  if (names.length === 0 || names.length > mostTopics) return null;
  const allowed = names.filter((name): name is LiveTopic =>
    actionsFor.some(
      ({ prefix, exact, actions }) =>
        (exact ? name === prefix : name.startsWith(prefix) && name.length > prefix.length) &&
        actions.some((action) => mayDo(role, action)),
    ),
  );
  return allowed.length === names.length ? allowed : null;
}

/** `GET /live?topics=a,b`: an event stream that says which topics changed. Changes that come faster than the reader
 *  takes them become one, so that a slow reader costs no memory.
 *  @param stopping ends every stream when the service stops. */
export function liveRoutes(services: Services, options: AppOptions, stopping: AbortSignal): readonly Route[] {
  setMaxListeners(0, stopping);

  const stillSignedIn = (context: AppContext): boolean => {
    const token = sessionTokenOf(context, isSecure(options));
    return token !== undefined && sessionOf(services, token, false) !== null;
  };

  const follow = (context: AppContext) => {
    const asked = context.req.query("topics") ?? "";
    if (asked === "") return context.text("Name the topics to follow.", 400);
    const topics = topicsAllowed(context.get("signedIn").staff.role, asked);
    if (!topics) return context.text("These topics are not for this desk.", 403);
    return streamSSE(context, async (stream) => {
      const stopped = new Promise<void>((resolve) => {
        stopping.addEventListener("abort", () => resolve(), { once: true });
        stream.onAbort(() => resolve());
      });
      const changes = changesOf(services.live, topics, stopping);
      stream.onAbort(changes.stop);
      // The reader may have missed something: between its page and this stream, or while it was away.
      await stream.writeSSE({ id: "1", event: "changed", data: "" });
      while (!stream.aborted && !stopping.aborted) {
        const changed = await changes.next();
        if (changed === "stopped") break;
        if (changed === "quiet") {
          // A stream must not outlive the session that opened it.
          if (!stillSignedIn(context)) break;
          await stream.write(": \n\n");
        } else {
          await stream.writeSSE({ id: "1", event: "changed", data: changed.join(",") });
          // What changes meanwhile is told afterwards, never dropped: a page that held back by itself would miss the last.
          await Promise.race([stream.sleep(shortestPause), stopped]);
        }
      }
      changes.stop();
    });
  };
  return [{ method: "GET", path: "/live", needs: "see-own-account", handle: follow }];
}
