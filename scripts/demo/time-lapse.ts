import type { Delivery } from "../simulated-cushions/delivery.ts";
import type { Rig } from "../simulated-cushions/rig.ts";
import { day, hour, type Moment, minute } from "../simulated-cushions/wall-clock.ts";
import { playBenchSession } from "./bench-story.ts";
import type { Calendar } from "./calendar.ts";
import { type HomeOptions, moveIn } from "./home.ts";
import type { BorrowerKey } from "./invented-cast.ts";
import type { DiaryEntry } from "./programme-diary.ts";
import type { ServerLink } from "./server-link.ts";

export interface TimeLapseOptions {
  readonly calendar: Calendar;
  readonly diary: readonly DiaryEntry[];
  readonly link: ServerLink;
  readonly home: HomeOptions;
  /** Starts the service again, on the ports it had. */
  readonly restart: () => Promise<void>;
  readonly progress: (share: number, words: string) => void;
  readonly stopped: () => boolean;
}

/** Of the last days the console shows most: there the record is looked at more often. */
const recentDays = 4;
const hoursBetween = {
  earlier: { reviews: 96, assessments: 192 },
  recent: { reviews: 24, assessments: 72 },
} as const;
const patienceSeconds = 20;

/** Plays the programme's past through the real service, an hour at a time: in each hour the cushions live, the
 *  service's clock is set to its end, and what the cushions then have to say is delivered and receipted before the next
 *  hour begins. So what arrives late has really arrived late, and every verdict was held when the record says it was. */
export class TimeLapse {
  readonly homes = new Map<BorrowerKey, Delivery>();
  /** With the units that lie on the bench at the end. */
  readonly rigs: Rig[] = [];
  readonly #options: TimeLapseOptions;
  #dark = false;
  #sent = 0;

  constructor(options: TimeLapseOptions) {
    this.#options = options;
  }

  get messagesDelivered(): number {
    return this.#sent;
  }

  async play(): Promise<void> {
    const { calendar, diary } = this.#options;
    let next = 0;
    let hours = 0;
    let reviewing: Promise<void> = Promise.resolve();
    let at = firstTick(calendar.startsAt);
    while (at < Date.now() && !this.#options.stopped()) {
      // While the service reviews the last hours, the cushions already live the next, where nothing interrupts it.
      if ((diary[next]?.at ?? Number.POSITIVE_INFINITY) > at) this.#live(at);
      await reviewing;
      for (let entry = diary[next]; entry && entry.at <= at; entry = diary[next]) {
        await this.#showTime(entry.at);
        await this.#happen(entry);
        next += 1;
      }
      await this.#showTime(at);
      await this.deliverAll(at);
      hours += 1;
      const pace = calendar.readyAt - at > recentDays * day ? hoursBetween.earlier : hoursBetween.recent;
      if (hours % pace.reviews === 0) reviewing = this.review(hours % pace.assessments === 0);
      this.#report(at);
      at += hour;
    }
    await reviewing;
  }

  async review(health: boolean): Promise<void> {
    if (!this.#dark) await this.#options.link.review(health);
  }

  async deliverAll(at: Moment): Promise<void> {
    this.#live(at);
    if (this.#dark) return;
    const reports = await Promise.all(
      [...this.homes.values()].map((home) => home.deliver(at, patienceSeconds)),
    );
    for (const report of reports) {
      if (report.problem) throw new Error(`A cushion could not deliver: ${report.problem}`);
      this.#sent += report.sent;
    }
  }

  #live(until: Moment): void {
    for (const { cushion } of this.homes.values()) cushion.advance(until);
  }

  /** While the office is dark there is nobody to tell the time. */
  async #showTime(at: Moment): Promise<void> {
    if (!this.#dark) await this.#options.link.showTime(at);
  }

  async #happen(entry: DiaryEntry): Promise<void> {
    const { link } = this.#options;
    switch (entry.what) {
      case "act":
        await link.play(entry.act);
        return;
      case "lend": {
        const { story } = entry;
        const { pairingPicture } = await link.play({
          kind: "lend",
          borrower: story.borrower,
          serial: story.serial,
          plan: story.plan,
          weightKilograms: story.person.habits.weightKilograms,
        });
        await this.#moveIn(entry.at, story.serial, pairingPicture, entry);
        return;
      }
      case "swap": {
        const old = this.homes.get(entry.story.borrower);
        old?.cushion.advance(entry.at);
        old?.cushion.sendNow(entry.at);
        await old?.deliver(entry.at, patienceSeconds);
        const { borrower } = entry.story;
        const { replacement, reason } = entry;
        const { pairingPicture } = await link.play({ kind: "swap", borrower, replacement, reason });
        await old?.hangUp();
        await this.#moveIn(entry.at, replacement, pairingPicture, entry);
        return;
      }
      case "bench": {
        const { server, seed } = this.#options.home;
        const rig = await playBenchSession(entry.session, entry.at, { link, server, seed });
        if (entry.session.readings !== null) this.rigs.push(rig);
        return;
      }
      case "office-goes-dark":
        // Until this minute it heard everything.
        await this.deliverAll(entry.at);
        await this.#goDark();
        return;
      case "office-is-back":
        this.#dark = false;
        await this.#options.restart();
        await link.showTime(entry.at);
        // The first look at a record that stops everywhere at once, before anything has been caught up.
        await this.review(false);
        return;
    }
  }

  async #moveIn(
    at: Moment,
    serial: string,
    pairingPicture: string | undefined,
    { story }: Extract<DiaryEntry, { what: "lend" | "swap" }>,
  ): Promise<void> {
    if (pairingPicture === undefined) throw new Error(`No pairing code was drawn for ${serial}.`);
    const delivery = await moveIn(story, serial, pairingPicture, at, this.#options.home);
    this.homes.set(story.borrower, delivery);
    // Its hello goes out at once, and the receipt sets its clock.
    await delivery.deliver(at, patienceSeconds);
  }

  async #goDark(): Promise<void> {
    this.#dark = true;
    await Promise.all([...this.homes.values()].map((home) => home.hangUp()));
    await this.#options.link.stopService();
  }

  #report(at: Moment): void {
    const { startsAt, readyAt } = this.#options.calendar;
    const date = new Intl.DateTimeFormat("en-GB", {
      day: "numeric",
      month: "long",
      timeZone: this.#options.calendar.zone,
    });
    const words = this.#dark ? "the office is dark" : `${this.homes.size} cushions, ${this.#sent} messages`;
    this.#options.progress((at - startsAt) / (readyAt - startsAt), `${date.format(at)}: ${words}`);
  }
}

/** Two minutes past the hour: a unit that reports on the hour has then done so. */
const firstTick = (from: Moment): Moment => Math.ceil(from / hour) * hour + 2 * minute;
