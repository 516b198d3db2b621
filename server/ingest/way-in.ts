import type { Services } from "../services.ts";
import type { AnswerRenewal } from "./answers.ts";
import { type IngestCounters, newCounters } from "./ingest-counters.ts";
import { Intake, type IntakeOptions } from "./intake.ts";
import { renderMetrics } from "./metrics.ts";
import { Sessions } from "./sessions.ts";

export interface WayInOptions {
  readonly services: Services;
  /** After each commit, with the units whose record may have grown. */
  readonly onCommitted: IntakeOptions["onCommitted"];
  /** Without it no unit gets a new certificate over its connection. */
  readonly answerRenewal?: AnswerRenewal;
}

/** What every carrier of messages needs, whether the broker is ours or stands in front. */
export interface WayIn {
  readonly counters: IngestCounters;
  readonly sessions: Sessions;
  readonly intake: Intake;
  metrics(): string;
  /** Takes no new work; commits and answers what has come in. */
  close(): Promise<void>;
}

export function openWayIn({ services, onCommitted, answerRenewal = async () => {} }: WayInOptions): WayIn {
  const counters = newCounters();
  const sessions = new Sessions(services);
  const intake = new Intake({ services, sessions, counters, onCommitted, answerRenewal });
  return {
    counters,
    sessions,
    intake,
    metrics: () =>
      renderMetrics({
        counters,
        connected: sessions.units().length,
        waiting: intake.waiting,
        waitingBytes: intake.waiting.bytes,
        flow: intake.flow.figures(),
        ackTimes: intake.ackTimes,
      }),
    close: async () => {
      sessions.stop();
      await intake.stop();
    },
  };
}
