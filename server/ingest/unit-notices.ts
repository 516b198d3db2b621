import type { UnitSerial } from "../domain/ids.ts";
import type { LiveEvents } from "../live.ts";

const pauseMilliseconds = 1_000;

/** Tells open pages which units have news, at most about once a second however fast messages come. */
export class UnitNotices {
  readonly #live: LiveEvents;
  readonly #changed = new Set<UnitSerial>();
  #timer: NodeJS.Timeout | null = null;

  constructor(live: LiveEvents) {
    this.#live = live;
  }

  changed(units: Iterable<UnitSerial>): void {
    for (const unit of units) this.#changed.add(unit);
    this.#timer ??= setTimeout(() => this.tellNow(), pauseMilliseconds).unref();
  }

  tellNow(): void {
    if (this.#timer !== null) clearTimeout(this.#timer);
    this.#timer = null;
    const units = [...this.#changed];
    this.#changed.clear();
    this.#live.changed(...units.map((unit) => `unit:${unit}` as const));
  }
}
