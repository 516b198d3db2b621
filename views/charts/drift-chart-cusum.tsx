import { scaleLinear } from "d3-scale";
import { line } from "d3-shape";
import type { OffsetDrift } from "../../server/domain/drift/empty-offset-drift.ts";
import { localDayOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import { dayWords } from "../layout/words.ts";

const width = 420;
const height = 130;
const plot = { left: 50, right: 86, top: 24, foot: 112 };

/** What adds up above and below the first week, against the limit: slow creep shows here before it shows above. */
export function CusumStrip({ drift, zone }: { drift: OffsetDrift; zone: ZoneName }) {
  const { points, cusum } = drift;
  const first = points[0];
  const last = points.at(-1);
  if (!first || !last) return null;
  const x = scaleLinear()
    .domain([first.at, last.at])
    .range([plot.left, width - plot.right]);
  const y = scaleLinear()
    .domain([0, Math.max(1.2 * cusum.limit, ...cusum.high, ...cusum.low)])
    .range([plot.foot, plot.top]);
  const path = (sums: readonly number[]) =>
    line<number>(
      (_, index) => x(points[index]?.at ?? first.at),
      (sum) => y(sum),
    )([...sums]) ?? "";
  const signal = cusum.signals[0];
  const at = signal === undefined ? undefined : points[signal]?.at;
  const words =
    at === undefined
      ? "Neither sum has passed its limit."
      : `A sum passed its limit on ${dayWords(localDayOf(at, zone))}.`;
  return (
    <figure class="chart-figure">
      <svg
        class="chart drift"
        viewBox={`0 0 ${width} ${height}`}
        role="img"
        aria-labelledby="cusum-title cusum-desc"
      >
        <title id="cusum-title">Sums of what lies off the first week</title>
        <desc id="cusum-desc">{words}</desc>
        <text x={plot.left} y="13">
          Added up: above (line), below (dashes)
        </text>
        <line class="limit" x1={plot.left} x2={width - plot.right} y1={y(cusum.limit)} y2={y(cusum.limit)} />
        <text class="small" x={width - plot.right + 6} y={y(cusum.limit) + 4}>
          limit
        </text>
        <line class="centre" x1={plot.left} x2={width - plot.right} y1={y(0)} y2={y(0)} />
        <path class="smoothed" d={path(cusum.high)} />
        <path class="smoothed" stroke-dasharray="4 3" d={path(cusum.low)} />
      </svg>
      <figcaption>
        <p>
          {words} {toleranceWords(drift, zone)}
        </p>
      </figcaption>
    </figure>
  );
}

function toleranceWords({ leavesTolerance, tolerance, trend }: OffsetDrift, zone: ZoneName): string {
  const limit = `${(100 * tolerance).toFixed(0)} % (assumption; the maker’s wins)`;
  const slope = trend
    ? `Trend: ${hundredths(trend.low)} to ${hundredths(trend.high)} % of span a month (90 %).`
    : "";
  if (!leavesTolerance) return slope;
  const date = (at: OffsetDrift["points"][number]["at"]) => dayWords(localDayOf(at, zone));
  const { earliest, best, latest } = leavesTolerance;
  return `${slope} If it goes on it leaves its tolerance of ${limit} about ${date(best)}, between ${date(earliest)} and ${latest === null ? "never" : date(latest)}.`;
}

/** Per cent, with a true minus. */
const hundredths = (share: number): string => (100 * share).toFixed(2).replace("-", "−");
