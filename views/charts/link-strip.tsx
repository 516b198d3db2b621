import { scaleLinear } from "d3-scale";
import type { LinkDay, LinkQuality } from "../../server/domain/link/link-quality.ts";
import { localDayOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import { millisecondsIn } from "../../server/domain/units.ts";
import { shortDay } from "../bench/words.ts";
import { dayWords, durationWords } from "../layout/words.ts";

const width = 720;
const height = 178;
const plot = { left: 44, right: 6, top: 24, foot: 140 };

/** One column a day: what was recorded of its hours, and how much of that without a relay to talk to. */
export function LinkStrip({ link, zone }: { link: LinkQuality; zone: ZoneName }) {
  const { days } = link;
  const first = days[0];
  const last = days.at(-1);
  if (!first || !last) return null;
  const step = (width - plot.left - plot.right) / days.length;
  const y = scaleLinear().domain([0, 24]).range([plot.foot, plot.top]);
  return (
    <figure class="chart-figure">
      <section class="wide" tabindex={0} aria-label="Hours recorded each day, as a picture">
        <svg
          class="chart link"
          viewBox={`0 0 ${width} ${height}`}
          role="img"
          aria-labelledby="link-title link-desc"
        >
          <title id="link-title">Hours recorded each day, with and without a relay</title>
          <desc id="link-desc">{describe(link)}</desc>
          <defs>
            <pattern
              id="link-hatch"
              width="5"
              height="5"
              patternUnits="userSpaceOnUse"
              patternTransform="rotate(45)"
            >
              <line class="hatch" x1="0" y1="0" x2="0" y2="5" />
            </pattern>
          </defs>
          <text x={plot.left} y="13">
            Hours recorded each day
          </text>
          {[0, 12, 24].map((tick) => (
            <g>
              <line class="grid" x1={plot.left} x2={width - plot.right} y1={y(tick)} y2={y(tick)} />
              <text class="small" x={plot.left - 6} y={y(tick) + 4} text-anchor="end">
                {tick} h
              </text>
            </g>
          ))}
          {days.map((day, index) => (
            <DayColumn day={day} x={plot.left + index * step} width={step} y={y} zone={zone} />
          ))}
          <text class="small" x={plot.left} y={plot.foot + 18}>
            {shortDay(first.start, zone)}
          </text>
          <text class="small" x={width - plot.right} y={plot.foot + 18} text-anchor="end">
            {shortDay(last.start, zone)}
          </text>
          <text class="small" x={width / 2} y={plot.foot + 18} text-anchor="middle">
            filled: with a relay; hatched: without one, delivered later; white: no record; ×: lost for good
          </text>
        </svg>
      </section>
      <figcaption>
        <details>
          <summary>Link as a table</summary>
          <DayTable days={days} zone={zone} />
        </details>
      </figcaption>
    </figure>
  );
}

interface ColumnProps {
  readonly day: LinkDay;
  readonly x: number;
  readonly width: number;
  readonly y: (hours: number) => number;
  readonly zone: ZoneName;
}

function DayColumn({ day, x, width: step, y, zone }: ColumnProps) {
  const withRelay = (day.recordedMinutes - day.minutesWithoutRelay) / 60;
  const without = day.minutesWithoutRelay / 60;
  const bar = { x: x + step * 0.12, width: step * 0.76 };
  return (
    <g>
      <rect class="with-relay" {...bar} y={y(withRelay)} height={y(0) - y(withRelay)} />
      <rect
        class="without-relay"
        {...bar}
        y={y(withRelay + without)}
        height={y(withRelay) - y(withRelay + without)}
        fill="url(#link-hatch)"
      />
      {day.lostMinutes > 0 ? (
        <text
          class="small"
          x={x + step / 2}
          y={y(Math.min(23, withRelay + without)) - 3}
          text-anchor="middle"
        >
          ×
        </text>
      ) : null}
      <title>{`${dayWords(localDayOf(day.start, zone))}: ${dayFacts(day)}`}</title>
    </g>
  );
}

const lasting = (minutes: number): string =>
  minutes === 0 ? "none" : durationWords(minutes * millisecondsIn.minute);

const dayFacts = (day: LinkDay): string =>
  `recorded ${lasting(day.recordedMinutes)}, without a relay ${lasting(day.minutesWithoutRelay)}${day.lostMinutes === 0 ? "" : `, lost for good ${lasting(day.lostMinutes)}`}`;

function describe(link: LinkQuality): string {
  const without = link.days.filter(({ minutesWithoutRelay }) => minutesWithoutRelay >= 60).length;
  return `${link.days.length} days; on ${without} of them an hour or more without a relay. ${link.loss.messages} messages lost for good, on ${link.loss.lossDays} days, ${link.messagesAwaited} still to come.`;
}

function DayTable({ days, zone }: { days: readonly LinkDay[]; zone: ZoneName }) {
  return (
    <section class="wide" tabindex={0} aria-label="Link as a table">
      <table class="ledger">
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col" class="number">
              Recorded
            </th>
            <th scope="col" class="number">
              Without a relay
            </th>
            <th scope="col" class="number">
              Lost for good
            </th>
          </tr>
        </thead>
        <tbody>
          {days.map((day) => (
            <tr>
              <td>{dayWords(localDayOf(day.start, zone))}</td>
              <td class="number">{lasting(day.recordedMinutes)}</td>
              <td class="number">{lasting(day.minutesWithoutRelay)}</td>
              <td class="number">{lasting(day.lostMinutes)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
