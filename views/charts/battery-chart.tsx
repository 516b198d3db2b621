import { scaleLinear } from "d3-scale";
import type { BatteryHealth } from "../../server/domain/battery/battery-health.ts";
import type { ChargeSession } from "../../server/domain/battery/charge-history.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant, Span } from "../../server/domain/units.ts";
import { shortDay } from "../bench/words.ts";
import { dateTimeWords, durationWords } from "../layout/words.ts";

const width = 420;
const height = 230;
const plot = { left: 44, right: 14, top: 22, foot: 158 };
const ticksTop = 178;

interface BatteryChartProps {
  readonly battery: BatteryHealth;
  readonly over: Span;
  readonly zone: ZoneName;
}

interface Rate {
  readonly at: Instant;
  readonly hours: number;
}

/** How long a full charge lasts, one point a discharge deep enough to tell, with the times on the charger under it. */
export function BatteryChart({ battery, over, zone }: BatteryChartProps) {
  const rates = battery.lasting.map(({ end, hoursPerCharge }): Rate => ({ at: end, hours: hoursPerCharge }));
  return (
    <figure class="chart-figure">
      <ChargeNow battery={battery} zone={zone} />
      {rates.length === 0 ? (
        <p class="empty">
          No discharge deep enough yet (15 %) to say how long a charge lasts. Times on the charger:{" "}
          {battery.history.sessions.length}.
        </p>
      ) : (
        <Endurance battery={battery} over={over} zone={zone} rates={rates} />
      )}
      <figcaption>
        <details>
          <summary>Battery as a table</summary>
          <ChargeTable battery={battery} zone={zone} />
        </details>
      </figcaption>
    </figure>
  );
}

/** The charge now, as a band: a rested voltage doesn't tell it better. */
function ChargeNow({ battery, zone }: { battery: BatteryHealth; zone: ZoneName }) {
  const { charge, chargeAt } = battery;
  const across = scaleLinear()
    .domain([0, 1])
    .range([plot.left, width - plot.right]);
  const band = `${Math.round(100 * charge.low)} to ${Math.round(100 * charge.high)} %`;
  return (
    <svg
      class="chart charge-now"
      viewBox={`0 0 ${width} 58`}
      role="img"
      aria-labelledby="charge-title charge-desc"
    >
      <title id="charge-title">Charge now</title>
      <desc id="charge-desc">{`${band}, best guess ${Math.round(100 * charge.best)} %, at ${dateTimeWords(chargeAt, zone)}`}</desc>
      <text x={plot.left} y="14">
        Charge: <tspan class="strong">{band}</tspan>, best guess {Math.round(100 * charge.best)} %
      </text>
      <rect class="frame" x={across(0)} y="22" width={across(1) - across(0)} height="16" />
      <rect
        class="band"
        x={across(charge.low)}
        y="22"
        width={Math.max(2, across(charge.high) - across(charge.low))}
        height="16"
      />
      <line class="best" x1={across(charge.best)} x2={across(charge.best)} y1="19" y2="41" />
      <text class="small" x={across(0)} y="53">
        0 %
      </text>
      <text class="small" x={across(1)} y="53" text-anchor="end">
        100 %
      </text>
    </svg>
  );
}

function Endurance({ battery, over, zone, rates }: BatteryChartProps & { rates: readonly Rate[] }) {
  const most = Math.max(...rates.map((rate) => rate.hours));
  const x = scaleLinear()
    .domain([over.start, over.end])
    .range([plot.left, width - plot.right]);
  const y = scaleLinear().domain([0, most]).nice(4).range([plot.foot, plot.top]);
  const { endurance, history, ranFlat } = battery;
  return (
    <svg
      class="chart"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-labelledby="endurance-title endurance-desc"
    >
      <title id="endurance-title">How long a full charge lasts</title>
      <desc id="endurance-desc">{describe(battery, rates)}</desc>
      <text x={plot.left} y="12">
        Hours a full charge lasts in ordinary use
      </text>
      {y.ticks(4).map((tick) => (
        <g>
          <line class="grid" x1={plot.left} x2={width - plot.right} y1={y(tick)} y2={y(tick)} />
          <text class="small" x={plot.left - 6} y={y(tick) + 4} text-anchor="end">
            {tick} h
          </text>
        </g>
      ))}
      {rates.map((rate) => (
        <circle class="point" cx={x(rate.at)} cy={y(rate.hours)} r="3.5">
          <title>{`${dateTimeWords(rate.at, zone)}: ${Math.round(rate.hours)} h`}</title>
        </circle>
      ))}
      {endurance === null ? null : (
        <g>
          <line
            class="worn"
            x1={plot.left}
            x2={width - plot.right}
            y1={y(0.8 * endurance.first)}
            y2={y(0.8 * endurance.first)}
          />
          <text class="small" x={plot.left + 4} y={y(0.8 * endurance.first) + 14}>
            80 % of what it lasted at first
          </text>
        </g>
      )}
      {history.sessions.map((session) => (
        <Session session={session} x={x} zone={zone} />
      ))}
      {ranFlat.map((at) => (
        <g>
          <path class="flat" d={`M${x(at) - 4} ${ticksTop}l8 12m0 -12l-8 12`} />
          <title>{`Ran flat ${dateTimeWords(at, zone)}`}</title>
        </g>
      ))}
      <text class="small" x={plot.left} y={ticksTop + 30}>
        {shortDay(over.start, zone)}
      </text>
      <text class="small" x={width - plot.right} y={ticksTop + 30} text-anchor="end">
        {shortDay(over.end, zone)}
      </text>
      <text class="small" x={(plot.left + width - plot.right) / 2} y={ticksTop + 30} text-anchor="middle">
        filled: charged full; open: cut short{ranFlat.length > 0 ? "; ✕ flat" : ""}
      </text>
    </svg>
  );
}

function Session({
  session,
  x,
  zone,
}: {
  session: ChargeSession;
  x: (at: number) => number;
  zone: ZoneName;
}) {
  return (
    <rect
      class={session.ended === "full" ? "session" : "session cut-short"}
      x={x(session.start)}
      width={Math.max(3, x(session.end) - x(session.start))}
      y={ticksTop}
      height="12"
    >
      <title>{`${dateTimeWords(session.start, zone)}: ${endWords[session.ended]}`}</title>
    </rect>
  );
}

const endWords = { full: "charged full", interrupted: "cut short", "going-on": "charging now" } as const;

function describe({ endurance, history, ranFlat }: BatteryHealth, rates: readonly Rate[]): string {
  const lasts =
    endurance === null
      ? `${rates.length} discharges, too few to compare.`
      : `About ${Math.round(endurance.recent)} hours of late, ${Math.round(endurance.first)} at first.`;
  const cut = history.sessions.filter(({ ended }) => ended === "interrupted").length;
  return `${lasts} ${history.sessions.length} times on the charger, ${cut} cut short; ran flat ${ranFlat.length} times.`;
}

function ChargeTable({ battery, zone }: { battery: BatteryHealth; zone: ZoneName }) {
  const { history, ranFlat } = battery;
  return (
    <section class="wide" tabindex={0} aria-label="Battery as a table">
      <table class="ledger">
        <caption>Times on the charger, newest first</caption>
        <thead>
          <tr>
            <th scope="col">From</th>
            <th scope="col">For</th>
            <th scope="col">It was</th>
          </tr>
        </thead>
        <tbody>
          {[...history.sessions].reverse().map((session) => (
            <tr>
              <td>{dateTimeWords(session.start, zone)}</td>
              <td>{durationWords(session.end - session.start)}</td>
              <td>{endWords[session.ended]}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <table class="ledger">
        <caption>Runs on battery deep enough to tell how long a charge lasts, newest first</caption>
        <thead>
          <tr>
            <th scope="col">Until</th>
            <th scope="col" class="number">
              Charge fell
            </th>
            <th scope="col" class="number">
              A full charge would last
            </th>
          </tr>
        </thead>
        <tbody>
          {[...battery.lasting].reverse().map(({ end, from, to, hoursPerCharge }) => (
            <tr>
              <td>{dateTimeWords(end, zone)}</td>
              <td class="number">
                {Math.round(100 * from)} to {Math.round(100 * to)} %
              </td>
              <td class="number">{Math.round(hoursPerCharge)} h</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p>
        Ran flat: {ranFlat.length === 0 ? "never" : ranFlat.map((at) => dateTimeWords(at, zone)).join("; ")}.
        Equivalent full cycles: {history.equivalentFullCycles.toFixed(1)}.
      </p>
    </section>
  );
}
