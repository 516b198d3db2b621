import { benchSteps, stepIds } from "../../server/domain/bench/steps.ts";
import { BenchMap } from "../charts/bench-map.tsx";
import { Caution } from "../layout/caution.tsx";
import { Problems } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import { BenchConnectPart } from "./bench-connect-part.tsx";
import { BenchFinishPart } from "./bench-finish-part.tsx";
import { BenchForgetPart, forgettingWords } from "./bench-forget-part.tsx";
import { SeenFields, type SessionPageProps, type StepShown } from "./bench-session-props.tsx";
import { standingWords } from "./bench-sessions-page.tsx";
import { BenchStepPart } from "./bench-step-part.tsx";
import { BenchTolerancesPart } from "./bench-tolerances-part.tsx";

/** One step a screen. What is pressed here says which version of the session it saw. */
export function SessionPage(props: SessionPageProps) {
  const { frame, session, problems } = props;
  const path = `/bench/sessions/${session.id}`;
  return (
    <Page title={`${session.reference}, ${session.unit}`} {...frame}>
      <h1>
        {session.reference}: <a href={`/bench/units/${session.unit}`}>{session.unit}</a>
      </h1>
      <Problems errors={problems} />
      <LiveRegion id="bench-session" topics={[`unit:${session.unit}`]} url={path}>
        {session.state === "open" ? <OpenSession {...props} /> : <OverSession {...props} />}
      </LiveRegion>
    </Page>
  );
}

function OpenSession(props: SessionPageProps) {
  const { session, mine, map, frame } = props;
  const place = stepIds.indexOf(session.step);
  const step = benchSteps[place];
  if (step === undefined) return null;
  return (
    <>
      {mine ? null : <HeldByAnother {...props} />}
      <p class="lead">
        Step {place + 1} of {stepIds.length}: {step.title}
      </p>
      <div class="beside bench-work">
        <section class="slip stack" id="step">
          <h2>{step.title}</h2>
          <p>{step.why}</p>
          <BenchStepPart {...props} step={step} />
        </section>
        <section class="stack" id="map">
          <h2>As it reads now</h2>
          {map === null ? (
            <p class="empty">No picture has come in this session yet.</p>
          ) : (
            <BenchMap
              {...map}
              caption={`Counts above empty, picture of ${dateTimeWords(map.at, frame.zone)}.`}
            />
          )}
          <BenchConnectPart {...props} />
          <BenchForgetPart {...props} />
        </section>
      </div>
      <StepList {...props} />
      {mine ? <BenchFinishPart {...props} /> : null}
      <BenchTolerancesPart tolerances={props.tolerances} from={props.tolerancesFrom} />
    </>
  );
}

function HeldByAnother({ frame, session }: SessionPageProps) {
  return (
    <div class="slip stack">
      <Caution word="Held by another.">
        {session.holder} holds this session. What you see renews itself; to go on with it, ask first.
      </Caution>
      <form method="post" action={`/bench/sessions/${session.id}/take-over`}>
        <SeenFields frame={frame} session={session} />
        <button type="submit" class="quiet">
          Take it over
        </button>
      </form>
    </div>
  );
}

function StepList(props: SessionPageProps) {
  const { frame, session, steps, mine } = props;
  return (
    <section id="steps">
      <h2>Steps</h2>
      <ol class="steps">
        {benchSteps.map(({ id, title }) => {
          const shown = steps.find((each) => each.id === id);
          const here = session.step === id;
          return (
            <li aria-current={here ? "step" : undefined}>
              <span>
                {title}: {stepWords(shown)}
              </span>
              {mine && !here ? (
                <form method="post" action={`/bench/sessions/${session.id}/go`}>
                  <SeenFields frame={frame} session={session} />
                  <button type="submit" name="step" value={id} class="quiet">
                    Go to it<span class="seen-by-readers-only"> ({title})</span>
                  </button>
                </form>
              ) : null}
            </li>
          );
        })}
      </ol>
    </section>
  );
}

export function stepWords(step: StepShown | undefined): string {
  if (step === undefined) return "not begun";
  if (step.judged === null) return step.kept.length === 0 ? "begun anew" : `begun, ${step.kept.length} kept`;
  const { lines } = step.judged;
  const again = step.attempt > 1 ? `, attempt ${step.attempt}` : "";
  if (lines.some(({ decision, maskable }) => decision === "fail" && !maskable))
    return `⚠ out of tolerance${again}`;
  if (lines.some(({ decision }) => decision === "not-settled")) return `○ not settled, repeat it${again}`;
  return lines.some(({ decision }) => decision === "fail") ? `▨ cells to mask${again}` : `✓ pass${again}`;
}

function OverSession({ frame, session, certificate, steps, forgetting }: SessionPageProps) {
  return (
    <section class="slip stack">
      <h2>Over</h2>
      <p>
        It ended on {dateTimeWords(session.endedAt ?? session.touchedAt, frame.zone)}:{" "}
        <strong>{standingWords(session)}</strong>.
      </p>
      {session.note === null ? null : <p>{session.note}</p>}
      {certificate === null ? (
        <p>No certificate: only a pass has one.</p>
      ) : (
        <p>
          <a class="button" href={`/certificates/${certificate}`}>
            Show and print the certificate
          </a>
        </p>
      )}
      <p id="keeps">{forgettingWords(forgetting, frame.zone)}</p>
      <ul class="story">
        {benchSteps.map(({ id, title }) => (
          <li>
            {title}: {stepWords(steps.find((each) => each.id === id))}
          </li>
        ))}
      </ul>
    </section>
  );
}
