import type { LiveEvents, LiveTopic } from "../live.ts";

/** A stream that says nothing is closed by something on the way; this is well under the usual minute. */
const heartbeatMilliseconds = 20_000;

export type Changed = readonly LiveTopic[] | "quiet" | "stopped";

export interface Changes {
  /** The topics that changed since the last call, as soon as there is one; `quiet` when none did for a while. */
  next(): Promise<Changed>;
  stop(): void;
}

/** Gathers what changes between two reads, so that any number of changes waits in a set no larger than the topics
 *  followed. */
export function changesOf(live: LiveEvents, topics: readonly LiveTopic[], stopping: AbortSignal): Changes {
  const waiting = new Set<LiveTopic>();
  let stopped = stopping.aborted;
  let wake: () => void = () => {};

  const unfollow = live.follow(topics, (topic) => {
    waiting.add(topic);
    wake();
  });
  const stop = () => {
    stopped = true;
    unfollow();
    stopping.removeEventListener("abort", stop);
    wake();
  };
  stopping.addEventListener("abort", stop);

  const take = (): Changed => {
    if (stopped) return "stopped";
    if (waiting.size === 0) return "quiet";
    const changed = [...waiting];
    waiting.clear();
    return changed;
  };

  const next = async (): Promise<Changed> => {
    if (!stopped && waiting.size === 0) {
      await new Promise<void>((resolve) => {
        const timer = setTimeout(resolve, heartbeatMilliseconds);
        wake = () => {
          clearTimeout(timer);
          resolve();
        };
      });
      wake = () => {};
    }
    return take();
  };

  return { next, stop };
}
