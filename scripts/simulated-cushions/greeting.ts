import type { MessageStore } from "./store.ts";

/** What a greeting says beside who the unit is. */
export interface GreetingDetails {
  readonly queued: number;
  readonly oldestUnsent?: { readonly boot: number; readonly sequence: number };
  readonly storeCapacityMessages: number;
  readonly certificateNotAfter?: number;
  readonly relay?: string;
}

/** @param certificateEnds Unix seconds; null: it has none
 *  @param relay the name of the one it reports through; null: none in reach */
export function greeting(
  store: MessageStore,
  certificateEnds: number | null,
  relay: string | null,
): GreetingDetails {
  const [oldest] = store.messages;
  return {
    queued: store.length,
    ...(oldest === undefined ? {} : { oldestUnsent: { boot: oldest.boot, sequence: oldest.sequence } }),
    storeCapacityMessages: store.limit,
    ...(certificateEnds === null ? {} : { certificateNotAfter: certificateEnds }),
    ...(relay === null ? {} : { relay }),
  };
}
