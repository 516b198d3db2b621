import { type AckTimes, ackBounds } from "./ack-times.ts";
import type { Urgency } from "./commit-queue.ts";
import type { FlowFigures } from "./flow-control.ts";
import type { IngestCounters } from "./ingest-counters.ts";

export interface IngestFigures {
  readonly counters: Readonly<IngestCounters>;
  readonly connected: number;
  readonly waiting: Readonly<Record<Urgency, number>>;
  readonly waitingBytes: number;
  readonly flow: FlowFigures;
  readonly ackTimes: Readonly<Record<Urgency, AckTimes>>;
}

/** The text exposition format that scrapers of metrics read, version 0.0.4. No names of people or units. */
export function renderMetrics(figures: IngestFigures): string {
  const { counters, waiting, flow, ackTimes } = figures;
  const refused: [string, number][] = [
    ["connection", counters.refusedConnections],
    ["publish", counters.refusedPublishes],
    ["subscription", counters.refusedSubscriptions],
    ["too_large", counters.tooLarge],
    ["no_room", counters.noRoom],
  ];
  const messages: [string, number][] = [
    ["stored", counters.stored],
    ["duplicate", counters.duplicates],
    ["kept_aside", counters.keptAside],
  ];
  const waits: [string, number][] = [
    ["live", waiting.live],
    ["backlog", waiting.backlog],
  ];
  return [
    ...family("ingest_connected_units", "gauge", "Units with an open session.", [["", figures.connected]]),
    ...family("ingest_received_total", "counter", "Messages taken in.", [["", counters.received]]),
    ...family(
      "ingest_messages_total",
      "counter",
      "Messages committed, by what came of them.",
      labelled("outcome", messages),
    ),
    ...family("ingest_commits_total", "counter", "Group commits.", [["", counters.commits]]),
    ...family("ingest_failed_commits_total", "counter", "Commits that failed.", [
      ["", counters.failedCommits],
    ]),
    ...family(
      "ingest_refused_total",
      "counter",
      "What was refused, by what it was.",
      labelled("what", refused),
    ),
    ...family(
      "ingest_waiting_messages",
      "gauge",
      "Messages waiting for a commit.",
      labelled("urgency", waits),
    ),
    ...family("ingest_waiting_bytes", "gauge", "Memory of the waiting messages.", [
      ["", figures.waitingBytes],
    ]),
    ...family("ingest_held_connections", "gauge", "Connections not read from now.", [["", flow.held]]),
    ...family("ingest_holds_total", "counter", "Times a connection was not read from, by why.", [
      ['{why="sends_too_much"}', flow.slowed],
      ['{why="no_room"}', flow.heldForRoom],
    ]),
    "# HELP ingest_ack_seconds From a message's arrival to the commit that holds it.",
    "# TYPE ingest_ack_seconds histogram",
    ...histogram("live", ackTimes.live),
    ...histogram("backlog", ackTimes.backlog),
    "",
  ].join("\n");
}

const labelled = (label: string, values: readonly [string, number][]): [string, number][] =>
  values.map(([name, value]) => [`{${label}="${name}"}`, value]);

const family = (
  name: string,
  type: "gauge" | "counter",
  help: string,
  values: readonly (readonly [labels: string, value: number])[],
): string[] => [
  `# HELP ${name} ${help}`,
  `# TYPE ${name} ${type}`,
  ...values.map(([labels, value]) => `${name}${labels} ${value}`),
];

function histogram(urgency: Urgency, times: AckTimes): string[] {
  const counts = times.cumulative();
  const lines = counts.map((count, at) => {
    const bound = ackBounds[at];
    const le = bound === undefined ? "+Inf" : String(bound / 1_000);
    return `ingest_ack_seconds_bucket{urgency="${urgency}",le="${le}"} ${count}`;
  });
  return [
    ...lines,
    `ingest_ack_seconds_sum{urgency="${urgency}"} ${times.sumMilliseconds / 1_000}`,
    `ingest_ack_seconds_count{urgency="${urgency}"} ${counts.at(-1) ?? 0}`,
  ];
}
