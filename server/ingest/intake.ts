import type { UnitSerial } from "../domain/ids.ts";
import { tellOfTwoDevices } from "../programme/tell-of-two-devices.ts";
import type { Services } from "../services.ts";
import type { AppendOutcome, IncomingMessage } from "../store/telemetry-port.ts";
import { acceptMessage } from "./accept-message.ts";
import { AckTimes } from "./ack-times.ts";
import { type AnswerRenewal, takeAnswers } from "./answers.ts";
import type { Urgency } from "./commit-queue.ts";
import { FlowControl, type UnitFlow } from "./flow-control.ts";
import { type CommitResult, GroupCommit } from "./group-commit.ts";
import type { IngestCounters } from "./ingest-counters.ts";
import type { Sessions } from "./sessions.ts";
import { Tidying } from "./tidying.ts";
import { toldIn } from "./told-at.ts";
import { TurnWatch } from "./turn-watch.ts";
import { UnitNotices } from "./unit-notices.ts";

export interface IntakeOptions {
  readonly services: Services;
  readonly sessions: Sessions;
  readonly counters: IngestCounters;
  /** After each commit, with the units whose record may have grown. */
  /** @param alarmed those of the units that told of a fault or of their power: to be looked at at once */
  readonly onCommitted: (units: readonly UnitSerial[], alarmed: readonly UnitSerial[]) => void;
  readonly answerRenewal: AnswerRenewal;
}

/** While messages keep coming a commit waits this long for company: fewer commits, and still far below the 100 ms in
 *  which a unit is to be answered. */
const gatheringMilliseconds = 5;
/** A message written within this time of its arrival is of now. */
const liveWithin = 10 * 60_000;

/** A message's way from a connection into the store and back as an acknowledgement and a receipt. Knows no broker. */
export class Intake {
  readonly #options: IntakeOptions;
  readonly #commit: GroupCommit;
  readonly #notices: UnitNotices;
  readonly #tidying: Tidying;
  readonly #turns: TurnWatch;
  readonly flow: FlowControl;
  readonly ackTimes: Readonly<Record<Urgency, AckTimes>> = { live: new AckTimes(), backlog: new AckTimes() };
  #storeFailing = false;

  constructor(options: IntakeOptions) {
    this.#options = options;
    this.#notices = new UnitNotices(options.services.live);
    this.#commit = new GroupCommit({
      append: (batch) => options.services.telemetry.append(batch),
      committed: (outcome, batch) => this.#committed(outcome, batch),
      failed: (error, messages) => this.#commitFailed(error, messages),
      gatheringMilliseconds,
      writesBeside: options.services.telemetry.writesBeside ?? false,
    });
    this.#turns = new TurnWatch((unit, turns) =>
      this.#afterwards(() => {
        tellOfTwoDevices(options.services, unit, turns);
        options.onCommitted([unit], [unit]);
      }),
    );
    this.flow = new FlowControl(() => this.#commit.waitingBytes);
    this.#tidying = new Tidying(options.services, () => this.#commit.waiting === 0);
  }

  get waiting(): { readonly live: number; readonly backlog: number; readonly bytes: number } {
    const commit = this.#commit;
    return {
      live: commit.waitingOf("live"),
      backlog: commit.waitingOf("backlog"),
      bytes: commit.waitingBytes,
    };
  }

  /** @param flow of the connection it came on, null where somebody else holds that
   *  @param done without an error only once the message is durable; with one, whoever carries it must not acknowledge
   *  it and should drop the connection: the unit still has it and sends it again */
  take(
    sender: UnitSerial,
    topic: string,
    payload: Uint8Array,
    done: (problem: Error | null) => void,
    flow: UnitFlow | null = null,
  ): void {
    const { services, counters } = this.#options;
    const receivedAt = services.clock.now();
    const acceptance = acceptMessage(sender, topic, payload, receivedAt);
    if (acceptance.kind === "refused") {
      counters.refusedPublishes += 1;
      services.log.warn({ unit: sender, reason: acceptance.reason }, "publish refused");
      done(new Error(acceptance.reason));
      return;
    }
    counters.received += 1;
    const told = toldIn(payload);
    const written = told?.wallSeconds ?? null;
    const isLate = written !== null && Math.abs(receivedAt - written * 1_000) > liveWithin;
    if (told !== null && !isLate) this.#turns.heard(sender, told);
    const urgency = isLate || (flow !== null && this.flow.isGreedy(flow)) ? "backlog" : "live";
    const began = performance.now();
    if (flow !== null) this.flow.taken(flow, payload.length, urgency === "backlog");
    const ended = (result: CommitResult): void => {
      if (flow !== null) this.flow.settled(flow, payload.length);
      if (result === "stored") this.ackTimes[urgency].add(performance.now() - began);
      done(this.#problemWith(result));
    };
    this.#commit.add(acceptance.message, ended, urgency);
  }

  /** Commits what has come in and takes nothing more. */
  async stop(): Promise<void> {
    this.flow.stop();
    await this.#commit.stop();
    await this.#tidying.stop();
    this.#notices.tellNow();
  }

  #problemWith(result: CommitResult): Error | null {
    if (result === "refused") this.#options.counters.noRoom += 1;
    return result === "stored" ? null : new Error(`message not stored: ${result}`);
  }

  #committed(outcome: AppendOutcome, batch: readonly IncomingMessage[]): void {
    const { services, counters, answerRenewal } = this.#options;
    counters.commits += 1;
    counters.stored += outcome.stored;
    counters.duplicates += outcome.duplicates;
    counters.keptAside += outcome.keptAside;
    if (this.#storeFailing) services.log.info("telemetry is being stored again");
    this.#storeFailing = false;
    this.#tidying.stored(outcome.stored);
    this.#afterwards(() => takeAnswers(services, batch, answerRenewal));
    this.#afterwards(() => this.#tell(outcome, batch));
  }

  /** What is stored is stored: a fault beside it must not hold back acknowledgements or the next commit. */
  #afterwards(act: () => void): void {
    try {
      act();
    } catch (error) {
      this.#options.services.log.error({ err: error }, "a fault beside the way in");
    }
  }

  #tell({ receipts }: AppendOutcome, batch: readonly IncomingMessage[]): void {
    for (const [unit, boots] of receipts) this.#options.sessions.of(unit)?.stored(boots);
    const units = [...receipts.keys()];
    this.#notices.changed(units);
    const alarmed = batch.filter(({ topic }) => topic.endsWith("/fault") || topic.endsWith("/power"));
    this.#options.onCommitted(units, [...new Set(alarmed.map(({ unit }) => unit))]);
  }

  #commitFailed(error: unknown, messages: number): void {
    const { log } = this.#options.services;
    this.#options.counters.failedCommits += 1;
    if (this.#storeFailing) return;
    this.#storeFailing = true;
    log.error({ err: error, messages }, "telemetry can't be stored; units keep it and send it again");
  }
}
