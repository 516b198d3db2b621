import type { IncidentLine } from "../../server/domain/incidents/incident-line.ts";
import type { StoresTask } from "../../server/domain/lifecycle/stores-task.ts";
import { type AskedTest, AskedTests } from "../layout/asked-tests.tsx";
import { IncidentLines } from "../layout/incident-lines.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { agoWords, dateTimeWords, timeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { nextStep, TaskSentence } from "./task-sentence.tsx";

interface WorklistPageProps {
  readonly frame: StoresFrame;
  readonly tasks: readonly StoresTask[];
  readonly asked: readonly AskedTest[];
  readonly incidents: readonly IncidentLine[];
}

export function WorklistPage({ frame, tasks, asked, incidents }: WorklistPageProps) {
  return (
    <Page title="What has to move today" {...frame}>
      <div class="heading-row">
        <h1>What has to move today</h1>
        <a class="button" href="/stores/loans/new">
          Open a loan
        </a>
      </div>
      <LiveRegion id="stores-worklist" topics={["stores"]} url="/stores">
        <IncidentLines lines={incidents} zone={frame.zone} />
        {tasks.length === 0 ? (
          <p class="empty">
            Nothing waits: no unit to hand out or fetch back, no visit due, no recall open. Last checked at{" "}
            {timeWords(frame.now, frame.zone)}.
          </p>
        ) : (
          <>
            <p class="lead">
              {tasks.length === 1 ? "1 thing waits" : `${tasks.length} things wait`}, what could do harm
              first, then what has waited longest. Checked at {timeWords(frame.now, frame.zone)}.
            </p>
            <ol class="worklist">
              {tasks.map((task) => (
                <TaskRow task={task} frame={frame} />
              ))}
            </ol>
          </>
        )}
        <AskedTests {...frame} action="/stores/tests" tests={asked} />
      </LiveRegion>
    </Page>
  );
}

function TaskRow({ task, frame }: { task: StoresTask; frame: StoresFrame }) {
  const step = nextStep(task);
  return (
    <li class={`task-${task.kind}`}>
      <div>
        <p class="sentence">
          <TaskSentence task={task} now={frame.now} zone={frame.zone} />
        </p>
        {task.kind === "visit" || task.kind === "due-back" ? null : (
          <p class="since">
            Since {dateTimeWords(task.since, frame.zone)} ({agoWords(task.since, frame.now)})
          </p>
        )}
      </div>
      <p class="next">
        <a class="button" href={step.href}>
          {step.words}
        </a>
      </p>
    </li>
  );
}
