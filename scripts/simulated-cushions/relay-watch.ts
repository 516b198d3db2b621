import type { MessageWriter } from "./message-writer.ts";
import type { RelayHeard } from "./surroundings.ts";

const tellAgainAfterSeconds = 3_600;

/** Tells of the relay's own heartbeat: when it is new, its link changes, it started again, and every hour. */
export class RelayWatch {
  readonly #writer: MessageWriter;
  #last: { readonly uptime: number; readonly relay: RelayHeard } | null = null;

  constructor(writer: MessageWriter) {
    this.#writer = writer;
  }

  boot(): void {
    this.#last = null;
  }

  /** @param heard null: no relay could be heard in this minute, and none is told of */
  minute(uptime: number, heard: RelayHeard | null): void {
    if (heard === null || !this.#isWorthTelling(uptime, heard)) return;
    this.#last = { uptime, relay: heard };
    this.#writer.write(
      {
        kind: "relay",
        relay: heard.name,
        heardUptimeSeconds: uptime,
        relayUptimeSeconds: heard.uptimeSeconds,
        link: heard.link,
        signalDecibelMilliwatts: heard.signal,
      },
      uptime,
    );
  }

  #isWorthTelling(uptime: number, heard: RelayHeard): boolean {
    if (this.#last === null) return true;
    const { relay } = this.#last;
    return (
      relay.name !== heard.name ||
      relay.link !== heard.link ||
      heard.uptimeSeconds < relay.uptimeSeconds ||
      uptime - this.#last.uptime >= tellAgainAfterSeconds
    );
  }
}
