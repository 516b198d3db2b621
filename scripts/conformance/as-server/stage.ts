import type { RunAuthority } from "../authority.ts";
import type { Findings } from "../findings.ts";
import { Heard, type Name, nameOf } from "./heard.ts";
import { PlayedServer } from "./played-server.ts";
import type { Visit } from "./visit.ts";

export interface StageOptions {
  readonly unit: string;
  readonly host: string;
  readonly port: number;
  readonly authority: RunAuthority;
  readonly findings: Findings;
  /** Unix milliseconds: what receipts tell the unit. */
  readonly now: () => number;
  /** How long the unit is waited for. */
  readonly patience: number;
  /** Times the pauses in which nothing must come; 1 is right for a unit behind a radio. */
  readonly pauseFactor: number;
  readonly say: (line: string) => void;
}

/** A pause in which a unit that is there has sent what it has. */
const settledMilliseconds = 1_500;
const talkingMilliseconds = 4_000;

/** What every scene against a unit has at hand. */
export class Stage {
  readonly options: StageOptions;
  readonly findings: Findings;
  readonly heard: Heard;
  readonly server: PlayedServer;
  #receipts = false;
  #receiptDue = false;

  private constructor(options: StageOptions, heard: Heard, server: PlayedServer) {
    this.options = options;
    this.findings = options.findings;
    this.heard = heard;
    this.server = server;
  }

  static async set(options: StageOptions): Promise<Stage> {
    const heard = new Heard(options.unit, options.findings);
    const server = await PlayedServer.start({
      ...options,
      rules: { heard: (packet) => heard.take(packet), answered: (visit) => stage.#answered(visit) },
    });
    const stage = new Stage(options, heard, server);
    return stage;
  }

  /** From now on every message gets its receipt, as a good server does. */
  giveReceipts(give: boolean): void {
    this.#receipts = give;
  }

  /** How long to wait for what must not come. */
  quiet(milliseconds: number): number {
    return milliseconds * this.options.pauseFactor;
  }

  /** The unit's next connection, with PUBACKs at once.
   *  @throws where it doesn't come: nothing more can be tried */
  async visit(): Promise<Visit> {
    const visit = await this.server.visit(this.options.patience);
    if (visit === null) throw new Error("The unit did not connect in time.");
    return visit;
  }

  /** @returns the same connection while it lasts, else the next */
  async present(visit: Visit): Promise<Visit> {
    if (visit.isOpen) return visit;
    const next = await this.visit();
    next.acknowledge();
    return next;
  }

  /** Waits until the unit has said something and then nothing new for a while; one that talks on is listened to for a
   *  few seconds.
   *  @returns the names that came over this visit */
  async listen(visit: Visit): Promise<ReadonlySet<Name>> {
    const names = new Set<Name>();
    let ends = Date.now() + this.options.patience;
    for (
      let wait = this.options.patience;
      wait > 0;
      wait = Math.min(this.quiet(settledMilliseconds), ends - Date.now())
    ) {
      const message = await visit.next(wait, (each): each is typeof each => !names.has(nameOf(each)));
      if (message === null) break;
      if (names.size === 0) ends = Date.now() + this.quiet(talkingMilliseconds);
      names.add(nameOf(message));
    }
    return names;
  }

  /** Waits until all of these came over this visit.
   *  @returns those that did not */
  async missing(visit: Visit, wanted: ReadonlySet<Name>): Promise<readonly Name[]> {
    const left = new Set(wanted);
    const ends = Date.now() + this.options.patience;
    while (left.size > 0) {
      const message = await visit.next(ends - Date.now(), (each): each is typeof each =>
        left.has(nameOf(each)),
      );
      if (message === null) break;
      left.delete(nameOf(message));
    }
    return [...left];
  }

  receipt(visit: Visit, except: ReadonlySet<Name> = new Set()): void {
    const stored = this.heard.stored(except);
    visit.say({ kind: "receipt", stored, serverUnixSeconds: Math.floor(this.options.now() / 1_000) });
  }

  /** Many messages in one turn get one receipt. */
  #answered(visit: Visit): void {
    if (!this.#receipts || this.#receiptDue) return;
    this.#receiptDue = true;
    setImmediate(() => {
      this.#receiptDue = false;
      this.receipt(visit);
    });
  }
}
