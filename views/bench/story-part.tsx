import type { UnitHealth } from "../../server/domain/condition/unit-health.ts";
import { placeWords } from "../../server/domain/lifecycle/moves.ts";
import { localDayOf, type ZoneName } from "../../server/domain/time/local-day.ts";
import { counted } from "../layout/counted.ts";
import { swapWords } from "../layout/swap-words.ts";
import { agoWords, certaintyWords, dateTimeWords, dayWords, durationWords } from "../layout/words.ts";
import {
  electronicsSentence,
  habitSentence,
  linkSentence,
  resistanceSentence,
  selfDischargeSentence,
} from "./electronics-words.ts";
import { LevelTag } from "./level-tag.tsx";
import type { UnitPageProps } from "./unit-page.tsx";
import { percent } from "./words.ts";

/** The unit's story in sentences: what it is, how fit, and what its record says of each part. */
export function StoryPart(props: UnitPageProps) {
  const { frame, unit, open, assessedAt, lastRecordedAt, health, swap } = props;
  const { zone, now } = frame;
  const [weightiest] = open.filter(({ judgement }) => judgement !== "refuted");
  return (
    <>
      <p class="sentence">
        {weightiest ? (
          <>
            <LevelTag level={weightiest.level} /> {weightiest.sentence}{" "}
            <span class="certainty">
              {weightiest.judgement === "confirmed"
                ? "Confirmed on inspection"
                : capital(certaintyWords(weightiest.probability))}
            </span>
            , since {dateTimeWords(weightiest.since, zone)}.
          </>
        ) : assessedAt === null ? (
          "Nobody has looked at it yet: no record of it has come in."
        ) : (
          <>
            <LevelTag level="sound" /> Nothing was found.
          </>
        )}
      </p>
      {weightiest ? (
        <p>
          <strong>Next:</strong> {weightiest.settledBy}
        </p>
      ) : null}
      <p>
        {unit.modelName}, {unit.size}, lot {unit.lotId}, firmware {unit.firmware ?? "not reported yet"}. It is{" "}
        <strong>{placeWords[unit.place]}</strong>
        {lastRecordedAt === null
          ? ", and no record of it has come in"
          : `, and last recorded ${agoWords(lastRecordedAt, now)}`}
        {assessedAt === null ? "." : `; looked at ${agoWords(assessedAt, now)}.`}
      </p>
      <ul class="story">
        {sentencesOf(health, zone).map((sentence) => (
          <li>{sentence}</li>
        ))}
        {health.newFirmware === null ? null : (
          <li>
            Firmware: it went from {health.newFirmware.from} to {health.newFirmware.to} on{" "}
            {dayWords(localDayOf(health.newFirmware.day, zone))}.{" "}
            <a href={`/bench/firmware?version=${encodeURIComponent(health.newFirmware.to)}`}>
              What moved in all units that went over
            </a>
          </li>
        )}
        {swap === null ? null : <li>After the swap: {swapWords(swap, zone)}</li>}
      </ul>
    </>
  );
}

function sentencesOf(health: UnitHealth, zone: ZoneName): string[] {
  const { battery, link } = health;
  return [
    batterySentence(health, zone),
    ...(battery === null
      ? []
      : [habitSentence(battery, zone), resistanceSentence(battery), selfDischargeSentence(battery)]),
    gridSentence(health),
    driftSentence(health),
    linkSentence(link),
    ...(link.recordedMinutes === 0 ? [] : [electronicsSentence(link)]),
  ];
}

function batterySentence({ battery, over }: UnitHealth, zone: ZoneName): string {
  if (!battery) return "Battery: nothing on record.";
  const { charge, chargeAt, history, hoursToEmpty, endurance, ranFlat, untilCharged } = battery;
  const left =
    hoursToEmpty === null
      ? ""
      : `, enough for ${Math.round(hoursToEmpty.low)} to ${Math.round(hoursToEmpty.high)} h of the use it gets`;
  const lasts =
    endurance === null
      ? ""
      : ` A charge lasts about ${Math.round(endurance.recent)} h, at first ${Math.round(endurance.first)} h.`;
  const waits =
    untilCharged?.flatBefore == null || untilCharged.usualWait === null
      ? ""
      : ` By habit its next charge is about ${Math.round(untilCharged.usualWait)} h away: flat before it with a chance of ${percent(untilCharged.flatBefore)}.`;
  const flat =
    ranFlat.length === 0
      ? "It never ran flat"
      : `It ran flat ${ranFlat.length === 1 ? "once" : `${ranFlat.length} times`}`;
  const days = durationWords(over.end - over.start);
  return `Battery: between ${percent(charge.low)} and ${percent(charge.high)} charged at ${dateTimeWords(chargeAt, zone)}${left}.${waits}${lasts} ${flat} in the ${days} looked at, and was charged ${counted(history.sessions.length, "time")}: ${history.equivalentFullCycles.toFixed(1)} full cycles in all.`;
}

function gridSentence({ grid }: UnitHealth): string {
  if (!grid) return "Sensor grid: too few pictures of the seat, loaded and empty, to say anything.";
  const broken = grid.lines.length + grid.open.length + grid.stuck.length;
  const unseen = grid.states.filter((state) => state === "not-seen").length;
  const seen = `from ${counted(grid.sits, "sit")} and ${counted(grid.frames.empty, "empty picture")}`;
  const never =
    unseen === 0
      ? ""
      : ` ${counted(unseen, "cell")} of ${grid.states.length} are never loaded by this body, which says nothing of them.`;
  return `Sensor grid: ${broken === 0 ? "every cell that was loaded answered" : `${counted(broken, "fault")} found`}, ${seen}.${never}`;
}

function driftSentence({ drift }: UnitHealth): string {
  if (drift?.kind !== "charted") return "Empty reading: too few days to chart.";
  const { chart, slopePerMonth, leftLimitsAt } = drift.drift;
  const moved = (chart.smoothed.at(-1) ?? chart.centre) - chart.centre;
  return `Empty reading: ${leftLimitsAt === null ? "within its limits" : "outside its limits"}, ${signed(moved)} of span from its first week, ${signed(slopePerMonth)} a month.`;
}

function signed(share: number): string {
  const size = Math.abs(100 * share).toFixed(1);
  return size === "0.0" ? "0.0 %" : `${share > 0 ? "+" : "−"}${size} %`;
}

const capital = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);
