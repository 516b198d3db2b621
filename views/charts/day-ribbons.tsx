import { isoWeekday, type ZoneName } from "../../server/domain/time/local-day.ts";
import { millisecondsIn } from "../../server/domain/units.ts";
import { dayWords, timeWords } from "../layout/words.ts";
import { DayRibbon, summary } from "./day-ribbon.tsx";
import type { RibbonDay } from "./day-ribbon-data.ts";

const weekdays = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/** A row for each day, newest last, hours marked once above, and the same content as a table underneath. */
export function DayRibbons({ days, zone }: { days: readonly RibbonDay[]; zone: ZoneName }) {
  return (
    <figure class="ribbons">
      <Patterns />
      <ol class="ribbon-days">
        <li class="ribbon-day ribbon-clock" aria-hidden="true">
          <span />
          <span class="clock">
            {["0", "6", "12", "18", "24"].map((hour) => (
              <span>{hour}</span>
            ))}
          </span>
        </li>
        {days.map((day) => (
          <li class={isoWeekday(day.day) === 1 ? "ribbon-day monday" : "ribbon-day"}>
            <span class="ribbon-date">
              <span class="weekday">{weekdays[isoWeekday(day.day) - 1]}</span> {shortDay(day)}
              {hoursIn(day) === 24 ? null : <span class="long">{hoursIn(day)} h, clocks change</span>}
              {day.seams.map(({ at }) => (
                <span class="long">{`unit changed ${timeWords(at, zone)}`}</span>
              ))}
            </span>
            <DayRibbon day={day} zone={zone} />
          </li>
        ))}
      </ol>
      <Key />
      <details>
        <summary>The same as a table</summary>
        <RibbonTable days={days} zone={zone} />
      </details>
    </figure>
  );
}

const hoursIn = (day: RibbonDay): number =>
  Math.round((day.end - day.start) / (millisecondsIn.hour / 10)) / 10;

/** "3 May": the year stands in the range above the ribbons. */
const shortDay = ({ day }: RibbonDay): string => dayWords(day).replace(/ (\w{3})\w* \d+$/, " $1");

/** Fills shared by every row. */
function Patterns() {
  return (
    <svg class="patterns" width="0" height="0" aria-hidden="true" focusable="false">
      <defs>
        <pattern id="ribbon-ruled" width="4" height="4" patternUnits="userSpaceOnUse">
          <line class="thread" x1="1" x2="1" y1="0" y2="4" />
        </pattern>
        <pattern
          id="ribbon-hatch"
          width="5"
          height="5"
          patternUnits="userSpaceOnUse"
          patternTransform="rotate(45)"
        >
          <line class="thread" x1="1" x2="1" y1="0" y2="5" />
        </pattern>
        <pattern id="ribbon-dots" width="5" height="5" patternUnits="userSpaceOnUse">
          <circle class="dot" cx="1.5" cy="1.5" r="1" />
        </pattern>
      </defs>
    </svg>
  );
}

function Sample({ children }: { children?: unknown }) {
  return (
    <svg class="sample" width="28" height="20" aria-hidden="true" focusable="false">
      {children}
    </svg>
  );
}

function Key() {
  return (
    <figcaption class="ribbon-key">
      <ul class="key">
        <li>
          <Sample>
            <rect class="seated" x="0" y="3" width="28" height="14" />
          </Sample>
          seated
        </li>
        <li>
          <Sample>
            <rect class="off" x="0.5" y="3.5" width="27" height="13" />
          </Sample>
          off the cushion
        </li>
        <li>
          <Sample>
            <rect class="on-charge" x="0.5" y="3.5" width="27" height="13" fill="url(#ribbon-ruled)" />
          </Sample>
          on charge
        </li>
        <li>
          <Sample>
            <rect class="relief" x="6" y="4" width="2" height="13" />
            <rect class="relief open" x="18" y="9" width="3" height="8" />
          </Sample>
          relief, as tall as its hold; open: short or broken off
        </li>
        <li>
          <Sample>
            <rect class="unseen" x="0" y="7" width="28" height="7" />
          </Sample>
          some reliefs could not be seen
        </li>
        <li>
          <Sample>
            <g class="bracket settled">
              <line x1="1" x2="27" y1="6" y2="6" />
              <line x1="1" x2="1" y1="6" y2="14" />
              <line x1="27" x2="27" y1="6" y2="14" />
            </g>
          </Sample>
          no record, or none of the due reliefs seen: solid almost certain, dashed probable, dotted not told
          yet
        </li>
      </ul>
    </figcaption>
  );
}

function RibbonTable({ days, zone }: { days: readonly RibbonDay[]; zone: ZoneName }) {
  return (
    <section class="wide" aria-label="Days as a table" tabindex={0}>
      <table class="ledger">
        <caption>Each day of the ribbon, oldest first</caption>
        <thead>
          <tr>
            <th scope="col">Day</th>
            <th scope="col">Recorded</th>
            <th scope="col" class="number">
              Due and met
            </th>
            <th scope="col" class="number">
              Due, none seen
            </th>
            <th scope="col" class="number">
              Can't be told
            </th>
            <th scope="col">Stretches that ask a question</th>
          </tr>
        </thead>
        <tbody>
          {days.map((day) => (
            <tr>
              <th scope="row">{dayWords(day.day)}</th>
              <td>
                {summary(day)}
                {[...new Set(day.unseen.map(({ words }) => words))].map((words) => (
                  <div>{words}</div>
                ))}
                {day.seams.map(({ at, words }) => (
                  <div>{`${timeWords(at, zone)}: ${words}`}</div>
                ))}
              </td>
              <td class="number">{day.met}</td>
              <td class="number">{day.missed}</td>
              <td class="number">{day.notAssessable}</td>
              <td>
                {day.brackets.map(({ href, sentence }) => (
                  <div>
                    <a href={href}>{sentence}</a>
                  </div>
                ))}
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** The range the ribbons show, in words. */
export const rangeWords = (days: readonly RibbonDay[]): string => {
  const first = days[0];
  const last = days.at(-1);
  return first && last ? `${dayWords(first.day)} to ${dayWords(last.day)}` : "";
};
