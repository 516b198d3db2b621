import type { BatteryHealth } from "../../server/domain/battery/battery-health.ts";
import { usualChargeTime } from "../../server/domain/battery/usual-charge-time.ts";
import type { ClockDrift } from "../../server/domain/link/clock-drift.ts";
import type { LinkQuality } from "../../server/domain/link/link-quality.ts";
import type { Loss } from "../../server/domain/link/loss.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { counted } from "../layout/counted.ts";
import { durationWords } from "../layout/words.ts";
import { percent } from "./words.ts";

/** How it is charged. Whose habit it is, this desk doesn't know. */
export function habitSentence({ habits, history }: BatteryHealth, zone: ZoneName): string {
  const { sessions, usualGap, longestGap, cutShort, pluggedIn, deeplyFlat } = habits;
  if (sessions === 0) return "Charging: no charge is on record in this time.";
  if (pluggedIn > mostlyPlugged)
    return `Charging: it is on the charger ${percent(pluggedIn)} of the time. A cell kept full ages faster; off the charger overnight now and then is kinder to it.`;
  const time = usualChargeTime(history.sessions, zone);
  const when =
    time === null
      ? "at no usual hour"
      : `usually about ${clockWords(time.minute)}, give or take ${durationWords(60_000 * time.spread)}`;
  const gaps =
    usualGap === null || longestGap === null
      ? ""
      : `, with ${Math.round(usualGap)} h between charges as a rule and ${Math.round(longestGap)} h at most`;
  const short =
    cutShort === 0 ? "" : ` ${cutShort} of ${counted(sessions, "charge")} ended before the cell was full.`;
  const deep =
    deeplyFlat === 0
      ? ""
      : ` It went below a tenth ${deeplyFlat === 1 ? "once" : `${deeplyFlat} times`}: each time wears the cell.`;
  return `Charging: ${when}${gaps}.${short}${deep}`;
}

/** Share of the record on the charger from which it is as good as always there. Assumption. */
const mostlyPlugged = 0.7;

const clockWords = (minute: number): string =>
  `${String(Math.floor(minute / 60)).padStart(2, "0")}:${String(minute % 60).padStart(2, "0")}`;

export function resistanceSentence({ resistance }: BatteryHealth): string {
  if (resistance === null) return "Internal resistance: not known, for it tells of no voltage steps.";
  const { now, readings, ratio, trend } = resistance;
  const milliohms = (ohms: number): string => `${Math.round(1_000 * ohms)} mΩ`;
  const against =
    ratio === null ? "" : `, ${ratio.low.toFixed(2)} to ${ratio.high.toFixed(2)} times what it was at first`;
  const change =
    trend === null
      ? ""
      : `; a month it changes by ${signedMilliohms(trend.low)} to ${signedMilliohms(trend.high)} mΩ`;
  return `Internal resistance: ${milliohms(now)} at 25 °C, from ${counted(readings.length, "radio burst")}${against}${change}.`;
}

/** Only rest shows it: while a unit records it draws some thirty times what a sound cell loses by itself. */
export function selfDischargeSentence({ selfDischarge }: BatteryHealth): string {
  if (selfDischarge === null)
    return "Self-discharge: not seen. It shows only where a unit was switched off for three days or more, with two hours of rest before and no charge.";
  const { times, perMonth } = selfDischarge;
  const off = times.reduce((sum, { start, end }) => sum + (end - start), 0);
  return `Self-discharge: switched off, it loses ${(100 * perMonth.low).toFixed(1)} to ${(100 * perMonth.high).toFixed(1)} % of a full charge a month, cell and electronics together, by its voltage before and after ${times.length === 1 ? "" : `${times.length} times, in all `}${durationWords(off)} off.`;
}

const signedMilliohms = (ohms: number): string => {
  const size = Math.round(1_000 * Math.abs(ohms));
  return size === 0 ? "0" : `${ohms > 0 ? "+" : "−"}${size}`;
};

export function linkSentence(link: LinkQuality): string {
  if (link.recordedMinutes === 0) return "Link: nothing on record.";
  const without = percent(link.minutesWithoutRelay / link.recordedMinutes);
  const delay =
    link.delay === null
      ? ""
      : `; half of its minutes came within ${durationWords(link.delay.median)}, nine in ten within ${durationWords(link.delay.ninthDecile)}, all but one in a hundred within ${durationWords(link.delay.ninetyNinth)}`;
  const awaited =
    link.messagesAwaited === 0 ? "" : `, ${counted(link.messagesAwaited, "message")} still to come`;
  return `Link: no relay for ${without} of the time recorded${delay}; ${lossWords(link.loss)}${awaited}.${signalWords(link)}${relayWords(link)}`;
}

/** Of the days to come as of those seen: what is lost is lost in runs, so a message more or less says little. */
function lossWords({ messages, share, lossDays, days, ofDays }: Loss): string {
  const upTo = ofDays === null ? "" : ofDays.high < 0.995 ? percent(ofDays.high) : "all";
  if (messages === 0)
    return ofDays === null
      ? "nothing lost"
      : `nothing lost in ${counted(days, "day")} (up to ${upTo} of days might still lose some, 90 %)`;
  const placed =
    ofDays === null || lossDays === 0
      ? ""
      : `, ${(100 * share).toFixed(1)} % of its record, on ${lossDays} of ${counted(days, "day")} (${percent(ofDays.low)} to ${upTo} of days, 90 %)`;
  return `${counted(messages, "message")} lost for good${placed}`;
}

function signalWords({ medianSignal, signalTrend }: LinkQuality): string {
  if (medianSignal === null) return "";
  const trend =
    signalTrend === null
      ? ""
      : signalTrend.low <= 0 && signalTrend.high >= 0
        ? ", without a trend"
        : `, changing by ${signalTrend.low.toFixed(1).replace("-", "−")} to ${signalTrend.high.toFixed(1).replace("-", "−")} dB a week`;
  return ` Its signal is ${String(medianSignal).replace("-", "−")} dBm in the middle${trend}.`;
}

function relayWords({
  relays: { relays, changes, relayStarts, linkLost, backInTouch },
}: LinkQuality): string {
  if (relays.length === 0) return "";
  const names =
    relays.length === 1
      ? `relay ${relays[0]?.name}`
      : `${relays.length} relays, changing ${counted(changes, "time")}`;
  const troubles = [
    ...(relayStarts === 0 ? [] : [`a relay had been off ${counted(relayStarts, "time")}`]),
    ...(linkLost === 0 ? [] : [`a relay lost its own link ${counted(linkLost, "time")}`]),
    ...(backInTouch === 0 ? [] : [`the unit was out of touch and back ${counted(backInTouch, "time")}`]),
  ];
  return ` It reported through ${names}${troubles.map((each) => `; ${each}`).join("")}.`;
}

export function electronicsSentence({ restarts, clock: drift }: LinkQuality): string {
  const { all, unwanted, afterFlat, withoutClock } = restarts;
  if (all === 0) return `Electronics: no restart.${driftWords(drift)}`;
  const flat = afterFlat === 0 ? "" : `, ${afterFlat} after the battery had run flat`;
  const clock =
    withoutClock === 0
      ? " It knew the time at each."
      : ` ${withoutClock === 1 ? "Once" : `${withoutClock} times`} it started without the time: that record is placed by what came before and after.`;
  return `Electronics: ${counted(all, "restart")}${flat}, ${unwanted} unasked.${clock}${driftWords(drift)}`;
}

function driftWords(drift: ClockDrift | null): string {
  if (drift === null)
    return " How well its clock keeps time isn’t known: that takes seven days in touch without a restart, and a relay that tells of itself.";
  const { low, high } = drift.secondsPerDay;
  const seconds = (size: number): string => Math.abs(size).toFixed(1);
  if (low <= 0 && high >= 0)
    return ` Its clock keeps time to ${seconds(Math.max(-low, high))} s a day (90 %, ${drift.days} days).`;
  const [least, most] = low > 0 ? [low, high] : [high, low];
  return ` Its clock runs ${low > 0 ? "fast" : "slow"} by ${seconds(least)} to ${seconds(most)} s a day (90 %, ${drift.days} days); its record is put right by ours.`;
}
