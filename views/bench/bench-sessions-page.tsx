import { type BenchOutcome, outcomeWords } from "../../server/domain/bench/session.ts";
import { type StepId, stepById } from "../../server/domain/bench/steps.ts";
import type { Instant } from "../../server/domain/units.ts";
import { CsrfField, type Problems as ProblemList, Problems } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { Pager } from "../layout/pager.tsx";
import { agoWords, dateTimeWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";

export interface SessionLine {
  readonly id: string;
  readonly reference: string;
  readonly unit: string;
  readonly modelName: string;
  readonly size: string;
  readonly state: "open" | "finished" | "abandoned";
  readonly step: StepId;
  readonly holder: string;
  readonly startedAt: Instant;
  readonly touchedAt: Instant;
  readonly endedAt: Instant | null;
  readonly outcome: BenchOutcome | null;
}

interface SessionsPageProps {
  readonly frame: BenchFrame;
  readonly sessions: readonly SessionLine[];
  /** On the bench, and no session is open. */
  readonly waiting: readonly { readonly serial: string; readonly modelName: string; readonly size: string }[];
  readonly total: number;
  readonly page: number;
  readonly perPage: number;
  readonly problems?: ProblemList | undefined;
}

export function SessionsPage(props: SessionsPageProps) {
  const { frame, sessions, waiting, problems } = props;
  return (
    <Page title="Bench sessions" {...frame}>
      <h1>Bench sessions</h1>
      <p class="lead">
        A guided session takes a unit through every test and ends with what it has proved. Only a pass here
        lets a unit that was with somebody go out again.
      </p>
      <Problems errors={problems} />
      <LiveRegion id="bench-sessions" topics={["bench"]} url="/bench/sessions">
        <section>
          <h2>On the bench, not begun</h2>
          {waiting.length === 0 ? (
            <p class="empty">No unit waits here. Move one to the bench on its page.</p>
          ) : (
            <ul class="worklist">
              {waiting.map((unit) => (
                <li>
                  <div>
                    <a href={`/bench/units/${unit.serial}`}>{unit.serial}</a>, {unit.modelName}, {unit.size}
                  </div>
                  <form method="post" action="/bench/sessions">
                    <CsrfField signedIn={frame.signedIn} />
                    <input type="hidden" name="unit" value={unit.serial} />
                    <button type="submit">
                      Begin a session<span class="seen-by-readers-only"> for {unit.serial}</span>
                    </button>
                  </form>
                </li>
              ))}
            </ul>
          )}
        </section>
        <section>
          <h2>Sessions</h2>
          {sessions.length === 0 ? <p class="empty">None was held yet.</p> : <SessionTable {...props} />}
        </section>
      </LiveRegion>
      <Pager
        path="/bench/sessions"
        query={{}}
        page={props.page}
        perPage={props.perPage}
        total={props.total}
      />
    </Page>
  );
}

function SessionTable({ sessions, frame }: SessionsPageProps) {
  return (
    <section class="wide" tabindex={0} aria-label="Sessions">
      <table class="ledger">
        <thead>
          <tr>
            <th scope="col">Session</th>
            <th scope="col">Unit</th>
            <th scope="col">Where it stands</th>
            <th scope="col">Technician</th>
            <th scope="col">Last touched</th>
          </tr>
        </thead>
        <tbody>
          {sessions.map((session) => (
            <tr>
              <th scope="row">
                <a href={`/bench/sessions/${session.id}`}>{session.reference}</a>
              </th>
              <td>
                <a href={`/bench/units/${session.unit}`}>{session.unit}</a>, {session.modelName}
              </td>
              <td>{standingWords(session)}</td>
              <td>{session.holder}</td>
              <td>
                <span title={dateTimeWords(session.touchedAt, frame.zone)}>
                  {agoWords(session.touchedAt, frame.now)}
                </span>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

export function standingWords({
  state,
  step,
  outcome,
}: Pick<SessionLine, "state" | "step" | "outcome">): string {
  switch (state) {
    case "open":
      return `open, at “${stepById(step).title}”`;
    case "abandoned":
      return "ended without an outcome";
    case "finished":
      return outcome === null ? "finished" : outcomeWords[outcome];
  }
}
