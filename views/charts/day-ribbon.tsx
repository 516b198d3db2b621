import { scaleLinear } from "d3-scale";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { millisecondsIn } from "../../server/domain/units.ts";
import { dayWords, timeWords } from "../layout/words.ts";
import type { RibbonBracket, RibbonDay, RibbonRelief } from "./day-ribbon-data.ts";

/** Positions across are per cent of the row, so that words keep their size at any width; heights are pixels. */
const laneHeight = 17;
const tickHeight = 16;
const barHeight = 18;
const unseenHeight = 7;
/** Share of the row that a label is taken to cover when labels are kept apart: about 7 px a letter on a narrow phone's
 *  300 px. */
const shareOf = (label: string): number => Math.min(0.5, (label.length * 7) / 300);
const mostLanes = 4;

interface Lane {
  readonly bracket: RibbonBracket;
  readonly lane: number;
}

/** One day, midnight to midnight. Texture carries the meaning: solid seated, outline off, ruled on charge, paper where
 *  there is no record. */
export function DayRibbon({ day, zone }: { day: RibbonDay; zone: ZoneName }) {
  const across = scaleLinear().domain([day.start, day.end]).range([0, 100]);
  const x = (at: number) => `${across(Math.min(Math.max(at, day.start), day.end)).toFixed(3)}%`;
  const width = (from: number, to: number) => `${Math.max(0, across(to) - across(from)).toFixed(3)}%`;
  const lanes = apart(day, (at) => across(at) / 100);
  const used = lanes.reduce((most, { lane }) => Math.max(most, lane + 1), 0);
  const barTop = used * laneHeight + tickHeight;
  return (
    <svg
      class={`lanes-${used}`}
      width="100%"
      role="graphics-object"
      aria-label={`${dayWords(day.day)}: ${summary(day)}`}
    >
      <g>
        {day.hours.map(({ at, hour }) => (
          <line
            class={hour % 6 === 0 ? "hour six" : "hour"}
            x1={x(at)}
            x2={x(at)}
            y1={barTop - (hour % 6 === 0 ? tickHeight : 3)}
            y2={barTop + barHeight + (hour % 6 === 0 ? 4 : 0)}
          />
        ))}
        {day.runs.map((run) => (
          <Run state={run.state} x={x(run.start)} width={width(run.start, run.end)} top={barTop} />
        ))}
        {day.unseen.map(({ start, end, words }) => (
          <rect
            class="unseen"
            x={x(start)}
            width={width(start, end)}
            y={barTop + barHeight + 2}
            height={unseenHeight}
          >
            <title>{words}</title>
          </rect>
        ))}
        {day.reliefs.map((relief) => (
          <Tick relief={relief} x={x(relief.at)} foot={barTop - 1} zone={zone} />
        ))}
        {day.seams.map(({ at, words }) => (
          <line class="seam" x1={x(at)} x2={x(at)} y1={barTop - tickHeight} y2={barTop + barHeight + 8}>
            <title>{words}</title>
          </line>
        ))}
      </g>
      {lanes.map(({ bracket, lane }) => (
        <Bracket bracket={bracket} x={x} middle={middleOf(bracket, day)} lane={lane} foot={barTop} />
      ))}
    </svg>
  );
}

function Run(props: { state: RibbonDay["runs"][number]["state"]; x: string; width: string; top: number }) {
  const { state, x, width, top } = props;
  switch (state) {
    case "seated":
      return <rect class="seated" x={x} width={width} y={top} height={barHeight} />;
    case "off":
      return <rect class="off" x={x} width={width} y={top + 0.5} height={barHeight - 1} />;
    case "on-charge":
      return (
        <rect
          class="on-charge"
          x={x}
          width={width}
          y={top + 0.5}
          height={barHeight - 1}
          fill="url(#ribbon-ruled)"
        />
      );
    case "not-trusted":
      return (
        <rect class="off" x={x} width={width} y={top + 0.5} height={barHeight - 1} fill="url(#ribbon-dots)" />
      );
    case "no-record":
    case "awaiting":
    case "outside-loan":
    case "to-come":
      return null;
  }
}

/** Height is the hold against the plan, at most one and a half times it. One that doesn't count is open. */
function Tick({ relief, x, foot, zone }: { relief: RibbonRelief; x: string; foot: number; zone: ZoneName }) {
  const share = Math.min(1.5, relief.holdShare ?? 1) / 1.5;
  const height = Math.max(3, share * tickHeight);
  return (
    <rect
      class={relief.counts ? "relief" : "relief open"}
      x={x}
      width={relief.counts ? 2 : 3}
      y={foot - height}
      height={height}
    >
      <title>{`${timeWords(relief.at, zone)}: ${reliefWords[relief.kind]}, held ${relief.holdSeconds} s${relief.counts ? "" : ", short of the plan"}`}</title>
    </rect>
  );
}

export const reliefWords = {
  lift: "lift",
  "lean-left": "lean to the left",
  "lean-right": "lean to the right",
  "lean-forward": "lean forward",
  tilt: "tilt",
} as const;

function Bracket(props: {
  bracket: RibbonBracket;
  x: (at: number) => string;
  middle: number;
  lane: number;
  foot: number;
}) {
  const { bracket, x, middle, lane, foot } = props;
  const line = (lane + 1) * laneHeight - 2;
  const anchor = middle < 0.22 ? "start" : middle > 0.78 ? "end" : "middle";
  const at =
    anchor === "start"
      ? x(bracket.start)
      : anchor === "end"
        ? x(bracket.end)
        : `${(middle * 100).toFixed(3)}%`;
  return (
    <a
      href={bracket.href}
      class={`bracket ${bracket.line}`}
      aria-label={`${bracket.label}: ${bracket.sentence}`}
    >
      <rect
        class="hit"
        x={x(bracket.start)}
        width="24"
        y={line - laneHeight}
        height={foot - line + laneHeight}
      />
      <line x1={x(bracket.start)} x2={x(bracket.end)} y1={line} y2={line} />
      <line x1={x(bracket.start)} x2={x(bracket.start)} y1={line} y2={foot} />
      <line x1={x(bracket.end)} x2={x(bracket.end)} y1={line} y2={foot} />
      <text x={at} y={line - 4} text-anchor={anchor}>
        {bracket.label}
      </text>
    </a>
  );
}

const middleOf = ({ start, end }: RibbonBracket, day: RibbonDay): number =>
  ((Math.max(start, day.start) + Math.min(end, day.end)) / 2 - day.start) / (day.end - day.start);

/** Keeps labels from overlapping: each goes to the lowest lane that is free where it would stand. */
function apart(day: RibbonDay, share: (at: number) => number): Lane[] {
  const ends: number[] = [];
  return day.brackets.map((bracket) => {
    const middle = middleOf(bracket, day);
    const labelShare = shareOf(bracket.label);
    const from =
      middle < 0.22
        ? share(Math.max(bracket.start, day.start))
        : middle > 0.78
          ? share(Math.min(bracket.end, day.end)) - labelShare
          : middle - labelShare / 2;
    const free = ends.findIndex((end) => end <= from);
    const lane = free === -1 ? Math.min(ends.length, mostLanes - 1) : free;
    ends[lane] = Math.max(from + labelShare, share(Math.min(bracket.end, day.end)));
    return { bracket, lane };
  });
}

export function summary(day: RibbonDay): string {
  const minutesIn = (state: RibbonDay["runs"][number]["state"]) =>
    day.runs.reduce(
      (sum, run) => sum + (run.state === state ? (run.end - run.start) / millisecondsIn.minute : 0),
      0,
    );
  const unrecorded = minutesIn("no-record") + minutesIn("awaiting");
  const hours = (minutes: number) => `${Math.round(minutes / 6) / 10} h`;
  return [
    `seated ${hours(minutesIn("seated"))}`,
    unrecorded > 0 ? `no record for ${hours(unrecorded)}` : null,
    `${day.reliefs.filter(({ counts }) => counts).length} reliefs recorded`,
  ]
    .filter((part) => part !== null)
    .join(", ");
}
