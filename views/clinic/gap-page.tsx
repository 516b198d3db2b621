import { type CommandLine, openStates } from "../../server/domain/commands/command.ts";
import { catalogue } from "../../server/domain/verdicts/causes.ts";
import type { HarmTable } from "../../server/domain/verdicts/harm.ts";
import type { HeldVerdict, Verdict } from "../../server/domain/verdicts/verdict.ts";
import { Caution } from "../layout/caution.tsx";
import { Problems as ProblemList, type Problems, type Typed } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { BoundsPart, type DayBounds } from "./bounds-part.tsx";
import { EvidencePart } from "./evidence-part.tsx";
import type { ClinicFrame } from "./frame.ts";
import { HarmPart } from "./harm-part.tsx";
import { HistoryPart } from "./history-part.tsx";
import { asKnown, KnownOnNotice } from "./known-on.tsx";
import { LearnedForm, LearnedList, type LearnedShown } from "./learned-part.tsx";
import type { TestRequestLine } from "./next-test.tsx";
import { NextTest } from "./next-test.tsx";
import { SettlePart } from "./settle-part.tsx";
import { SidesPart } from "./sides-part.tsx";

interface GapPageProps {
  readonly frame: ClinicFrame;
  readonly person: { readonly id: string; readonly name: string };
  readonly stretch: { readonly id: string; readonly kind: "gap" | "thin"; readonly title: string };
  readonly unit: string;
  /** null: not judged yet. */
  readonly verdict: Verdict | null;
  /** Newest first, the current one included. */
  readonly history: readonly HeldVerdict[];
  readonly bounds: readonly DayBounds[];
  readonly learned: readonly LearnedShown[];
  readonly harm: HarmTable;
  readonly requests: readonly TestRequestLine[];
  /** The incident that tells of this gap, while it is held. */
  readonly incident: string | null;
  /** The last picture of the grid that was asked for since the stretch began. */
  readonly grid: readonly string[];
  readonly frameAsked: CommandLine | null;
  readonly told: string | null;
  readonly form?: { readonly problems: Problems; readonly typed: Typed };
}

export function GapPage(props: GapPageProps) {
  const { frame, person, stretch, verdict, form } = props;
  return (
    <Page {...frame} title={`${stretch.title}, ${person.name}`}>
      <p class="lead">
        <a href={asKnown(frame.knownOn, "/clinic")}>Clinic</a> ·{" "}
        <a href={asKnown(frame.knownOn, `/clinic/people/${person.id}`)}>{person.name}</a> · unit {props.unit}
      </p>
      <h1>{stretch.title}</h1>
      {props.told === null ? null : (
        <p class="told" role="status">
          {props.told}
        </p>
      )}
      <ProblemList errors={form?.problems} />
      <KnownOnNotice frame={frame} href={`/clinic/gaps/${stretch.id}`} />
      {props.incident === null ? null : (
        <p class="told" role="note">
          This gap is held: the unit fell silent with many others, and nobody is asked about it by themselves.{" "}
          <a href={asKnown(frame.knownOn, `/incidents/${props.incident}`)}>See the incident</a>. It is judged
          again when that is over.
        </p>
      )}
      <LiveRegion
        id="gap-verdict"
        topics={isAsked(props) ? [`stretch:${stretch.id}`, `unit:${props.unit}`] : [`stretch:${stretch.id}`]}
        url={asKnown(frame.knownOn, `/clinic/gaps/${stretch.id}`)}
      >
        {verdict === null ? (
          <p class="empty">
            {frame.knownOn === null
              ? "This stretch has not been judged yet. The verdict appears here by itself."
              : "This stretch had not been judged by then."}
          </p>
        ) : (
          <VerdictPart {...props} verdict={verdict} />
        )}
        <LearnedList learned={props.learned} frame={frame} />
      </LiveRegion>
      {frame.knownOn === null ? (
        <LearnedForm
          frame={frame}
          causes={catalogue(stretch.kind)}
          stretch={stretch.id}
          problems={form?.problems}
          typed={form?.typed}
        />
      ) : null}
    </Page>
  );
}

/** While an answer is awaited the page follows the unit too. */
const isAsked = ({ frameAsked }: GapPageProps): boolean =>
  frameAsked !== null && openStates.some((state) => state === frameAsked.state);

function VerdictPart(props: GapPageProps & { readonly verdict: Verdict }) {
  const { verdict, stretch, frame } = props;
  return (
    <>
      <p class="verdict-sentence" aria-live="polite">
        {verdict.sentence}
      </p>
      <Caution>{stretch.kind === "gap" ? gapCaution : thinCaution}</Caution>
      <SidesPart verdict={verdict} />
      <HarmPart verdict={verdict} table={props.harm} />
      <EvidencePart verdict={verdict} />
      {props.incident === null ? (
        <SettlePart tests={verdict.settle} settled={verdict.outcome !== "not-settled"}>
          {frame.knownOn === null ? <NextTest {...props} verdict={verdict} /> : null}
        </SettlePart>
      ) : null}
      <BoundsPart days={props.bounds} />
      <HistoryPart stretch={stretch.id} history={props.history} frame={frame} />
    </>
  );
}

const gapCaution =
  "A gap says nothing about whether reliefs were done. Keep to the skin-check plan; local policy and licensed practice decide.";
const thinCaution =
  "Few reliefs recorded is not the same as few reliefs made, and it is common in good data. Send no message about it while a cause in the unit is open. Keep to the skin-check plan; local policy and licensed practice decide.";

/** The page of a stretch that nobody had seen by the day asked about. */
export function NotYetPage({ frame, stretch }: { frame: ClinicFrame; stretch: string }) {
  return (
    <Page {...frame} title="Not seen yet">
      <p class="lead">
        <a href={asKnown(frame.knownOn, "/clinic")}>Clinic</a>
      </p>
      <h1>Not seen yet by then</h1>
      <KnownOnNotice frame={frame} href={`/clinic/gaps/${stretch}`} />
      <p class="empty">This stretch had not been seen, nor judged, by then.</p>
    </Page>
  );
}
