import { isHazard } from "../../server/domain/condition/condition-of.ts";
import { placeWords } from "../../server/domain/lifecycle/moves.ts";
import type { Place } from "../../server/domain/lifecycle/place.ts";
import type { Instant } from "../../server/domain/units.ts";
import { type AskedTest, AskedTests } from "../layout/asked-tests.tsx";
import { counted } from "../layout/counted.ts";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { agoWords, certaintyWords, dateTimeWords } from "../layout/words.ts";
import type { FindingLine } from "./finding-line.ts";
import type { BenchFrame } from "./frame.ts";
import { LevelTag } from "./level-tag.tsx";
import { nextStepFor } from "./words.ts";

/** A unit that needs hands, and the finding that weighs most. */
export interface BenchTask {
  readonly serial: string;
  readonly modelName: string;
  readonly size: string;
  readonly place: Place;
  readonly finding: FindingLine;
  readonly others: number;
}

export interface KeptAsideLine {
  readonly unit: string;
  readonly messages: number;
  readonly lastReason: string;
  readonly lastAt: Instant;
}

interface WorklistPageProps {
  readonly frame: BenchFrame;
  readonly tasks: readonly BenchTask[];
  readonly assessed: { readonly units: number; readonly lastAt: Instant | null };
  readonly asked: readonly AskedTest[];
  readonly keptAside: readonly KeptAsideLine[];
  /** Certificates that end within a month, soonest first. */
  readonly ending: readonly EndingCertificateLine[];
}

export interface EndingCertificateLine {
  readonly unit: string;
  readonly expiresAt: Instant;
}

export function WorklistPage(props: WorklistPageProps) {
  return (
    <Page title="Units that need hands" {...props.frame}>
      <h1>Units that need hands</h1>
      <LiveRegion id="bench-worklist" topics={["bench"]} url="/bench">
        <p class={props.tasks.length === 0 ? "empty" : "lead"}>{summary(props)}</p>
        {props.tasks.length === 0 ? null : (
          <ol class="worklist">
            {props.tasks.map((task) => (
              <TaskRow task={task} frame={props.frame} />
            ))}
          </ol>
        )}
        <AskedTests {...props.frame} action="/bench/tests" tests={props.asked} />
        <EndingCertificates {...props} />
        <KeptAside {...props} />
      </LiveRegion>
    </Page>
  );
}

function summary({ frame, tasks, assessed }: WorklistPageProps): string {
  if (assessed.lastAt === null) return "No unit has been looked at yet: none has sent a record.";
  const checked = `${counted(assessed.units, "unit")} looked at, the last ${agoWords(assessed.lastAt, frame.now)} (${dateTimeWords(assessed.lastAt, frame.zone)}).`;
  if (tasks.length === 0) return `No unit needs hands. ${checked}`;
  const need = tasks.length === 1 ? "1 unit needs hands" : `${tasks.length} units need hands`;
  return `${need}: what could do harm first, then what has waited longest. ${checked}`;
}

function TaskRow({ task, frame }: { task: BenchTask; frame: BenchFrame }) {
  const { finding, serial } = task;
  const step = nextStepFor(finding.kind);
  return (
    <li class={isHazard(finding.kind) ? "hazard" : undefined}>
      <div>
        <p class="sentence">
          <LevelTag level={finding.level} /> <a href={`/bench/units/${serial}`}>{serial}</a>,{" "}
          {placeWords[task.place]}: {finding.sentence}{" "}
          <span class="certainty">
            {finding.judgement === "confirmed"
              ? `Confirmed by ${finding.judgedBy ?? "a technician"}.`
              : `${capital(certaintyWords(finding.probability))}.`}
          </span>
        </p>
        <p class="since">
          Since {dateTimeWords(finding.since, frame.zone)} ({agoWords(finding.since, frame.now)})
          {task.others > 0 ? `, and ${counted(task.others, "more finding")}` : ""}. What settles it:{" "}
          {finding.settledBy}
        </p>
      </div>
      <p class="next">
        <a class="button" href={`/bench/units/${serial}#${step.part}`}>
          {step.words}
          <span class="seen-by-readers-only"> ({serial})</span>
        </a>
      </p>
    </li>
  );
}

const mostNamed = 12;

/** A whole batch is one line: what there is to do is the same for each. */
function EndingCertificates({ frame, ending }: WorklistPageProps) {
  const [first] = ending;
  const last = ending.at(-1);
  if (first === undefined || last === undefined) return null;
  const from = dateTimeWords(first.expiresAt, frame.zone);
  return (
    <section id="certificates">
      <h2>Certificates that end soon</h2>
      <p>
        {ending.length === 1
          ? `1 unit’s certificate ends ${from}.`
          : `${ending.length} units’ certificates end between ${from} and ${dateTimeWords(last.expiresAt, frame.zone)}.`}{" "}
        {ending.length === 1 ? "It" : "Each"} was asked to renew it and has not used a new one yet. After its
        end a unit can’t connect and must be paired again.
      </p>
      <p>
        {ending.slice(0, mostNamed).map(({ unit }, place) => (
          <>
            {place === 0 ? "" : ", "}
            <a href={`/bench/units/${unit}#commands`}>{unit}</a>
          </>
        ))}
        {ending.length > mostNamed ? ` and ${ending.length - mostNamed} more` : ""}
      </p>
    </section>
  );
}

function KeptAside({ keptAside }: WorklistPageProps) {
  const messages = keptAside.reduce((sum, line) => sum + line.messages, 0);
  return (
    <section>
      <h2>Kept aside</h2>
      {messages === 0 ? (
        <p>Every message that came in could be read.</p>
      ) : (
        <>
          <p>
            {counted(messages, "message")} from {counted(keptAside.length, "unit")} could not be read and{" "}
            {messages === 1 ? "is" : "are"} kept, with the reason. Nothing else was lost by it.
          </p>
          <ul class="story">
            {keptAside.slice(0, 3).map((line) => (
              <li>
                {line.unit}: {line.lastReason}
              </li>
            ))}
          </ul>
          <p>
            <a href="/bench/kept-aside">See all that was kept aside</a>
          </p>
        </>
      )}
    </section>
  );
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
