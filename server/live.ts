import { EventEmitter } from "node:events";

/** Topics a page can follow: a desk's worklist, or one loan, unit, person or stretch. */
export type LiveTopic =
  | "stores"
  | "bench"
  | "clinic"
  /** A certificate was revoked: the broker checks its open sessions again. */
  | "certificates"
  /** A unit was asked to do something: its session, where it has one, tells it at once. */
  | `commands:${string}`
  /** The programme's assumptions changed: the review job works through every record again. */
  | "settings"
  /** A part of a record was filed under another loan, or back: it is worked through again. */
  | "record-moved"
  | `loan:${string}`
  | `unit:${string}`
  | `person:${string}`
  | `stretch:${string}`
  | `incident:${string}`;

/** Tells open pages that something they show has changed. Carries no data: the page asks again, through the same
 *  permission check as before. */
export interface LiveEvents {
  changed(...topics: readonly LiveTopic[]): void;
  /** @returns the function that stops following. */
  follow(topics: readonly LiveTopic[], listener: (topic: LiveTopic) => void): () => void;
}

export function createLiveEvents(): LiveEvents {
  const emitter = new EventEmitter();
  emitter.setMaxListeners(0);
  return {
    changed: (...topics) => {
      for (const topic of new Set(topics)) emitter.emit(topic, topic);
    },
    follow: (topics, listener) => {
      for (const topic of topics) emitter.on(topic, listener);
      return () => {
        for (const topic of topics) emitter.off(topic, listener);
      };
    },
  };
}
