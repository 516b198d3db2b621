import { scaleLinear } from "d3-scale";
import { line } from "d3-shape";
import type { OffsetDrift } from "../../server/domain/drift/empty-offset-drift.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { localDayOf } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { shortDay } from "../bench/words.ts";
import { dayWords } from "../layout/words.ts";

const width = 420;
const height = 250;
const plot = { left: 50, right: 86, top: 24, foot: 214 };

interface Point {
  readonly at: Instant;
  readonly raw: number;
  readonly smoothed: number;
}

/** The control chart of the empty reading, in per cent of span: centre line, limits, and where it left them. */
export function DriftChart({ drift, zone }: { drift: OffsetDrift; zone: ZoneName }) {
  const { chart, leftLimitsAt } = drift;
  const points = drift.points.map(
    ({ at, shareOfSpan }, index): Point => ({
      at,
      raw: 100 * shareOfSpan,
      smoothed: 100 * (chart.smoothed[index] ?? shareOfSpan),
    }),
  );
  const first = points[0];
  const last = points.at(-1);
  if (!first || !last) return null;
  const reach = [
    ...points.flatMap(({ raw, smoothed }) => [raw, smoothed]),
    100 * chart.lower,
    100 * chart.upper,
  ];
  const x = scaleLinear()
    .domain([first.at, last.at])
    .range([plot.left, width - plot.right]);
  const y = scaleLinear()
    .domain([Math.min(...reach), Math.max(...reach)])
    .nice(4)
    .range([plot.foot, plot.top]);
  const levels: Level[] = [
    { y: y(100 * chart.upper), words: "upper limit", kind: "limit" },
    { y: y(100 * chart.centre), words: "first week", kind: "centre" },
    { y: y(100 * chart.lower), words: "lower limit", kind: "limit" },
  ];
  const path = line<Point>(
    (point) => x(point.at),
    (point) => y(point.smoothed),
  )(points);
  const crossing = points.find(({ at }) => at === leftLimitsAt);
  return (
    <figure class="chart-figure">
      <svg
        class="chart drift"
        viewBox={`0 0 ${width} ${height}`}
        role="img"
        aria-labelledby="drift-title drift-desc"
      >
        <title id="drift-title">Control chart of the empty reading</title>
        <desc id="drift-desc">{describe(drift, zone)}</desc>
        <text x={plot.left} y="13">
          Empty reading, per cent of span
        </text>
        {y.ticks(4).map((tick) => (
          <text class="small" x={plot.left - 6} y={y(tick) + 4} text-anchor="end">
            {tick.toFixed(2)} %
          </text>
        ))}
        {levels.map((level) => (
          <line class={level.kind} x1={plot.left} x2={width - plot.right} y1={level.y} y2={level.y} />
        ))}
        {apart(levels).map(({ words, at }) => (
          <text class="small" x={width - plot.right + 6} y={at + 4}>
            {words}
          </text>
        ))}
        {points.map((point) => (
          <circle class="faint" cx={x(point.at)} cy={y(point.raw)} r="2.5" />
        ))}
        <path class="smoothed" d={path ?? ""} />
        {crossing ? (
          <Crossing
            x={x(crossing.at)}
            y={y(crossing.smoothed)}
            words={`left its limits ${shortDay(crossing.at, zone)}`}
          />
        ) : null}
        <text class="small" x={plot.left} y={plot.foot + 22}>
          {shortDay(first.at, zone)}
        </text>
        <text class="small" x={width - plot.right} y={plot.foot + 22} text-anchor="end">
          {shortDay(last.at, zone)}
        </text>
        <text class="small" x={(plot.left + width - plot.right) / 2} y={plot.foot + 22} text-anchor="middle">
          dots: each day; line: smoothed
        </text>
      </svg>
      <figcaption>
        <details>
          <summary>Empty reading as a table</summary>
          <PointTable points={points} zone={zone} />
        </details>
      </figcaption>
    </figure>
  );
}

interface Level {
  readonly y: number;
  readonly words: string;
  readonly kind: "limit" | "centre";
}

const labelHeight = 13;

/** Where the words of three lines go, top to bottom, so that none lies on another. */
function apart(levels: readonly Level[]): { words: string; at: number }[] {
  const middle = levels[1]?.y ?? 0;
  return levels.map(({ words, y }, place) => {
    const least = (place - 1) * labelHeight;
    return { words, at: middle + (place === 0 ? Math.min(y - middle, least) : Math.max(y - middle, least)) };
  });
}

function Crossing({ x, y, words }: { x: number; y: number; words: string }) {
  const leftward = x > width / 2;
  return (
    <g>
      <circle class="crossing" cx={x} cy={y} r="6" />
      <text
        class="small strong"
        x={leftward ? x - 10 : x + 10}
        y={y - 8}
        text-anchor={leftward ? "end" : "start"}
      >
        {words}
      </text>
    </g>
  );
}

function describe({ chart, leftLimitsAt, points }: OffsetDrift, zone: ZoneName): string {
  const moved = 100 * ((chart.smoothed.at(-1) ?? chart.centre) - chart.centre);
  const state =
    leftLimitsAt === null
      ? "It is within its limits"
      : `It left its limits on ${dayWords(localDayOf(leftLimitsAt, zone))} and has stayed outside`;
  return `${points.length} days. ${state}; it stands ${moved.toFixed(2)} per cent of span from its centre.`;
}

function PointTable({ points, zone }: { points: readonly Point[]; zone: ZoneName }) {
  return (
    <section class="wide" tabindex={0} aria-label="Empty reading as a table">
      <table class="ledger">
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col" class="number">
              Empty reading
            </th>
            <th scope="col" class="number">
              Smoothed
            </th>
          </tr>
        </thead>
        <tbody>
          {points.map(({ at, raw, smoothed }) => (
            <tr>
              <td>{dayWords(localDayOf(at, zone))}</td>
              <td class="number">{raw.toFixed(2)} %</td>
              <td class="number">{smoothed.toFixed(2)} %</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
