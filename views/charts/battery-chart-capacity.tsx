import { scaleLinear } from "d3-scale";
import type { BatteryHealth } from "../../server/domain/battery/battery-health.ts";
import type { Capacity } from "../../server/domain/battery/capacity.ts";
import { localDayOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import { type Instant, instant } from "../../server/domain/units.ts";
import { shortDay } from "../bench/words.ts";
import { dayWords } from "../layout/words.ts";

const width = 420;
const height = 220;
const plot = { left: 48, right: 16, top: 24, foot: 178 };
const day = 86_400_000;
const furthestAhead = 60 * day;
const worn = 80;

/** What the cell holds of its rating, one point a discharge, with the band of what is to come down to 80 %. */
export function CapacityChart({ battery, zone }: { battery: BatteryHealth; zone: ZoneName }) {
  const { capacity } = battery;
  const first = capacity?.readings[0];
  const last = capacity?.readings.at(-1);
  if (!capacity || !first || !last)
    return (
      <p class="empty">No capacity yet: it takes three runs on battery of at least 12 % of the charge.</p>
    );
  const shares = capacity.readings.map(({ at, depth, drawn }) => ({
    at,
    share: (100 * drawn) / depth / capacity.rated,
  }));
  const end = furthest(capacity, last.at);
  const x = scaleLinear()
    .domain([first.at, end])
    .range([plot.left, width - plot.right]);
  const reach = shares.map(({ share }) => share);
  const y = scaleLinear()
    .domain([Math.min(70, ...reach), Math.max(105, ...reach)])
    .nice(4)
    .range([plot.foot, plot.top]);
  return (
    <figure class="chart-figure">
      <svg
        class="chart"
        viewBox={`0 0 ${width} ${height}`}
        role="img"
        aria-labelledby="capacity-title capacity-desc"
      >
        <title id="capacity-title">What the battery holds of its rated charge</title>
        <desc id="capacity-desc">{capacityWords(capacity, zone)}</desc>
        <text x={plot.left} y="13">
          Per cent of rated charge
        </text>
        {y.ticks(4).map((tick) => (
          <g>
            <line class="grid" x1={plot.left} x2={width - plot.right} y1={y(tick)} y2={y(tick)} />
            <text class="small" x={plot.left - 6} y={y(tick) + 4} text-anchor="end">
              {tick} %
            </text>
          </g>
        ))}
        <line class="worn" x1={plot.left} x2={width - plot.right} y1={y(worn)} y2={y(worn)} />
        <text class="small" x={plot.left + 4} y={y(worn) + 14}>
          80 %: worn
        </text>
        <Ahead capacity={capacity} from={last.at} end={end} x={x} y={y} />
        {shares.map(({ at, share }) => (
          <circle class="point" cx={x(at)} cy={y(share)} r="3" />
        ))}
        <text class="small" x={plot.left} y={plot.foot + 22}>
          {shortDay(first.at, zone)}
        </text>
        <text class="small" x={width - plot.right} y={plot.foot + 22} text-anchor="end">
          {shortDay(end, zone)}
        </text>
      </svg>
      <figcaption>
        <p>{capacityWords(capacity, zone)}</p>
        <details>
          <summary>Cycles by depth, as a table</summary>
          <CycleTable battery={battery} />
        </details>
      </figcaption>
    </figure>
  );
}

const furthest = ({ wornAt }: Capacity, last: Instant): Instant =>
  instant(Math.min(last + furthestAhead, Math.max(last + 7 * day, wornAt?.latest ?? last + furthestAhead)));

interface AheadProps {
  readonly capacity: Capacity;
  readonly from: Instant;
  readonly end: Instant;
  readonly x: (at: number) => number;
  readonly y: (share: number) => number;
}

/** From the interval now to the interval of the date: a fan where the date is ahead, nothing where it is past. */
function Ahead({ capacity: { ofRated, wornAt }, from, end, x, y }: AheadProps) {
  if (!wornAt || wornAt.best <= from) return null;
  const levelAt = (start: number, date: number | null): number =>
    date === null || date <= from
      ? start
      : Math.max(worn, start + ((worn - start) * (end - from)) / (date - from));
  const low = levelAt(100 * ofRated.low, Math.max(from + day, wornAt.earliest));
  const high = levelAt(100 * ofRated.high, wornAt.latest);
  const best = levelAt(100 * ofRated.best, wornAt.best);
  const bestEnd = Math.min(end, wornAt.best);
  const points = [
    [x(from), y(100 * ofRated.low)],
    [x(end), y(Math.min(low, 100 * ofRated.low))],
    [x(end), y(high)],
    [x(from), y(100 * ofRated.high)],
  ];
  return (
    <g>
      <polygon
        class="band"
        points={points.map((point) => point.map((each) => each.toFixed(1)).join(",")).join(" ")}
      />
      <line
        class="best"
        x1={x(from)}
        y1={y(100 * ofRated.best)}
        x2={x(bestEnd)}
        y2={y(wornAt.best <= end ? worn : best)}
      />
    </g>
  );
}

export function capacityWords(
  { ofRated, isDrawDescribed, wornAt, readings }: Capacity,
  zone: ZoneName,
): string {
  const condition = isDrawDescribed
    ? ""
    : ", if it draws as units usually do: its model’s draw is not described (see Models)";
  const now = `It holds ${Math.round(100 * ofRated.low)} to ${Math.round(100 * ofRated.high)} % of its rated charge, best guess ${Math.round(100 * ofRated.best)} %${condition}.`;
  const date = (at: Instant) => dayWords(localDayOf(at, zone));
  if (!wornAt) return `${now} It isn’t seen to fall.`;
  const latest =
    wornAt.latest === null ? "or never, as far as this record tells" : `at the latest ${date(wornAt.latest)}`;
  // What lies before the newest reading is past: no date that is to come.
  const newest = readings.at(-1)?.at ?? wornAt.earliest;
  if (wornAt.best <= newest)
    return `${now} It came down to 80 % about ${date(wornAt.best)}, ${latest} (90 %).`;
  const earliest =
    wornAt.earliest <= newest ? "may be there already" : `at the earliest ${date(wornAt.earliest)}`;
  return `${now} It comes down to 80 % about ${date(wornAt.best)}, ${earliest}, ${latest} (90 %).`;
}

const depths = [
  { words: "under 20 %", from: 0, to: 0.2 },
  { words: "20 to 50 %", from: 0.2, to: 0.5 },
  { words: "50 to 80 %", from: 0.5, to: 0.8 },
  { words: "80 % or more", from: 0.8, to: 1.01 },
] as const;

function CycleTable({ battery: { history } }: { battery: BatteryHealth }) {
  return (
    <table class="ledger">
      <caption>Charge cycles counted by depth (rainflow)</caption>
      <thead>
        <tr>
          <th scope="col">Depth</th>
          <th scope="col" class="number">
            Cycles
          </th>
        </tr>
      </thead>
      <tbody>
        {depths.map(({ words, from, to }) => (
          <tr>
            <th scope="row">{words}</th>
            <td class="number">
              {history.cycles
                .filter(({ range }) => range >= from && range < to)
                .reduce((sum, { count }) => sum + count, 0)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
