import { encodeUplink } from "../../../firmware-protocol/src/encode.ts";
import type { Envelope, Fault, Hello, Renewal, Result } from "../../../firmware-protocol/src/messages.ts";

/** Writes what the played unit says: one boot, sequences in order. */
export class Words {
  readonly unit: string;
  readonly boot: number;
  readonly #startedAt: number;
  #sequence = 0;

  /** @param boot above every boot that this serial has had */
  constructor(unit: string, boot: number, now: number) {
    this.unit = unit;
    this.boot = boot;
    this.#startedAt = now;
  }

  /** Takes the next sequence, to send it later or never. */
  take(): number {
    return this.#sequence++;
  }

  envelope(sequence = this.take()): Envelope {
    // It claims to have been switched on a minute ago: what it tells must not lie before.
    const uptimeSeconds = 60 + Math.floor((Date.now() - this.#startedAt) / 1_000);
    return {
      unit: this.unit,
      boot: this.boot,
      sequence,
      uptimeSeconds,
      wallSeconds: Math.floor(Date.now() / 1_000),
    };
  }

  hello(sequence?: number): Hello {
    return {
      kind: "hello",
      ...this.envelope(sequence),
      firmware: "conformance",
      hardware: "none",
      reset: "power-on",
      rows: 2,
      columns: 2,
      pitchMillimetres: 25,
      queued: 0,
    };
  }

  overrun(fromSequence: number, toSequence: number): Fault {
    const envelope = this.envelope();
    const lost = { boot: this.boot, fromSequence, toSequence };
    return {
      kind: "fault",
      ...envelope,
      fault: "store-overrun",
      atUptimeSeconds: envelope.uptimeSeconds,
      lost,
      value: null,
    };
  }

  result(command: string, state: "accepted" | "done"): Result {
    const envelope = this.envelope();
    return {
      kind: "result",
      ...envelope,
      command,
      state,
      reason: null,
      atUptimeSeconds: envelope.uptimeSeconds,
    };
  }

  renewal(request: Uint8Array): Renewal {
    return { kind: "renewal", ...this.envelope(), request };
  }
}

/** The bytes of a good hello with further entries, its version or its number changed. Head of the map and of the two
 *  first entries: 0xae, 00 01, 01 01. */
export function alteredHello(
  hello: Hello,
  change: { readonly version?: number; readonly code?: number; readonly added?: Uint8Array },
): Uint8Array {
  const bytes = encodeUplink(hello);
  const { added = new Uint8Array() } = change;
  const altered = Buffer.concat([bytes, added]);
  if (added.length > 0) altered[0] = (altered[0] ?? 0) + 1;
  if (change.version !== undefined) altered[2] = change.version;
  if (change.code !== undefined) altered[4] = change.code;
  return altered;
}
