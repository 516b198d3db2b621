import type { LocalDay } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { Page } from "../layout/page.tsx";
import { Pager } from "../layout/pager.tsx";
import { dayWords, timeWords } from "../layout/words.ts";
import { type Figure, figureNames } from "./figures.ts";
import type { ClinicFrame } from "./frame.ts";
import { asKnown, KnownOnNotice } from "./known-on.tsx";

/** One line of the record behind a figure. */
export interface LedgerLine {
  readonly day: LocalDay;
  /** null: it speaks of the whole day. */
  readonly at: Instant | null;
  /** Set where the line is a time rather than a moment. */
  readonly until: Instant | null;
  readonly what: string;
  readonly unit: string;
  readonly why: string;
  /** The page that says more of it. */
  readonly href: string | null;
  /** Shown beside the others, but not part of the figure. */
  readonly counts: boolean;
}

interface LinesPageProps {
  readonly frame: ClinicFrame;
  readonly person: { readonly id: string; readonly name: string };
  readonly figure: Figure;
  /** The loan that alone is meant, with its unit; null: all of them. */
  readonly only: { readonly loan: string; readonly unit: string } | null;
  readonly first: LocalDay;
  readonly last: LocalDay;
  /** What the lines come to. */
  readonly sum: string;
  readonly lines: readonly LedgerLine[];
  readonly page: number;
  readonly perPage: number;
  readonly total: number;
  readonly back: string;
}

/** What a figure of a person's page was made of, line by line. */
export function LinesPage(props: LinesPageProps) {
  const { frame, person, figure, lines } = props;
  const path = `/clinic/people/${person.id}/lines`;
  const query = {
    figure,
    from: props.first,
    to: props.last,
    ...(props.only === null ? {} : { loan: props.only.loan }),
  };
  return (
    <Page {...frame} title={`${figureNames[figure]}, ${person.name}`}>
      <p class="lead">
        <a href={asKnown(frame.knownOn, "/clinic")}>Clinic</a> ·{" "}
        <a href={asKnown(frame.knownOn, props.back)}>{person.name}</a>
      </p>
      <h1>{figureNames[figure]}</h1>
      <KnownOnNotice frame={frame} href={`${path}?${new URLSearchParams(query)}`} />
      <p class="sentence">
        {dayWords(props.first)} to {dayWords(props.last)}
        {props.only === null ? "" : `, as unit ${props.only.unit} recorded them`}: {props.sum}.
      </p>
      {lines.length === 0 ? (
        <p class="empty">No line of the record stands behind this figure in these days.</p>
      ) : (
        <LinesTable lines={lines} frame={frame} figure={figure} />
      )}
      <Pager
        path={path}
        query={{ ...query, ...(frame.knownOn === null ? {} : { asKnownOn: frame.knownOn }) }}
        page={props.page}
        perPage={props.perPage}
        total={props.total}
      />
    </Page>
  );
}

function LinesTable({ lines, frame, figure }: Pick<LinesPageProps, "lines" | "frame" | "figure">) {
  return (
    <div class="wide">
      <table class="ledger stacks">
        <caption>{captions[figure]}</caption>
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col">Time</th>
            <th scope="col">What</th>
            <th scope="col">Why, as far as the record tells</th>
            <th scope="col">Unit</th>
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => (
            <tr>
              <th scope="row">{dayWords(line.day)}</th>
              <td data-label="Time">{momentWords(line, frame)}</td>
              <td data-label="What">{line.what}</td>
              <td data-label="Why">
                {line.href === null ? line.why : <a href={asKnown(frame.knownOn, line.href)}>{line.why}</a>}
              </td>
              <td data-label="Unit">{line.unit}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

const dueCaption =
  "Each due relief at the moment it fell due or, where it was met, at the relief or the time off that met it";
const captions: Readonly<Record<Figure, string>> = {
  due: dueCaption,
  met: dueCaption,
  missed: dueCaption,
  untold:
    "Each due relief that nobody can tell of; a time without a record counts one for each interval begun",
  days: "Each day on loan, with whether enough of it is known for it to count",
  seated: "Each stretch recorded as seated, day by day",
  unknown: "Each stretch of loan time whose state is not known, day by day",
  reliefs: "Each complete relief that the unit told of, whether or not one was due",
  left: "Each complete lean to the left that the unit told of",
  right: "Each complete lean to the right that the unit told of",
  longest: "The recorded sitting that makes up the longest sit of each unit",
};

function momentWords({ at, until }: LedgerLine, { zone }: ClinicFrame): string {
  if (at === null) return "the whole day";
  if (until === null) return timeWords(at, zone);
  const end = timeWords(until, zone);
  return `${timeWords(at, zone)} to ${end === "00:00" ? "24:00" : end}`;
}
