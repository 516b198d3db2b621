import { type FirmwareSteps, fewestUnits } from "../../server/domain/firmware/firmware-steps.ts";
import { localDayOf } from "../../server/domain/time/local-day.ts";
import { counted } from "../layout/counted.ts";
import { levelWords, measureName, stepWords, verdictWords } from "../layout/firmware-words.ts";
import { Page } from "../layout/page.tsx";
import { dayWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";

interface FirmwarePageProps {
  readonly frame: BenchFrame;
  readonly versions: readonly { readonly firmware: string; readonly units: number }[];
  /** The one that is asked about; null: no unit has reported any. */
  readonly chosen: { readonly firmware: string; readonly told: FirmwareSteps } | null;
}

/** What moved in many units on the day that new firmware came to each. */
export function FirmwarePage({ frame, versions, chosen }: FirmwarePageProps) {
  return (
    <Page title="Firmware" {...frame}>
      <h1>Firmware</h1>
      <p class="lead">
        Each unit is held against itself: up to a fortnight before its firmware changed, and up to a fortnight
        after.
      </p>
      {chosen === null ? (
        <p class="empty">No unit has said yet what firmware it runs.</p>
      ) : (
        <>
          <nav aria-label="Firmware versions">
            <ul class="story">
              {versions.map(({ firmware, units }) => (
                <li>
                  <a
                    href={`/bench/firmware?version=${encodeURIComponent(firmware)}`}
                    aria-current={firmware === chosen.firmware ? "page" : undefined}
                  >
                    {firmware}
                  </a>
                  , {counted(units, "unit")}
                </li>
              ))}
            </ul>
          </nav>
          <Chosen frame={frame} {...chosen} />
        </>
      )}
    </Page>
  );
}

function Chosen({
  frame,
  firmware,
  told,
}: { readonly frame: BenchFrame } & NonNullable<FirmwarePageProps["chosen"]>) {
  const moved = told.steps.filter(({ verdict }) => verdict === "moved");
  return (
    <section id="steps">
      <h2>When {firmware} came</h2>
      <p class="sentence">{sentenceOf(told, moved.length)}</p>
      {told.firstSeen === null ? null : (
        <p>
          First seen {dayWords(localDayOf(told.firstSeen, frame.zone))}, of the units in this comparison. What
          else changed at about the day it came, the season or the charger that was handed out with it, looks
          the same: before a recall, put the former firmware on one unit and see whether the step goes back.
        </p>
      )}
      {told.units === 0 ? null : <StepTable told={told} />}
    </section>
  );
}

function sentenceOf({ units, steps }: FirmwareSteps, moved: number): string {
  if (units === 0)
    return "No unit went over to it within the last four weeks with five days on record at either side, so there is nothing to compare.";
  if (units < fewestUnits)
    return `${counted(units, "unit")} went over to it with days enough at either side. It takes ${fewestUnits} to tell a step from chance.`;
  return moved === 0
    ? `Nothing that was looked at moved in the ${units} units that went over to it.`
    : `${moved} of ${counted(steps.length, "thing")} that were looked at moved in the ${units} units that went over to it.`;
}

function StepTable({ told }: { readonly told: FirmwareSteps }) {
  return (
    <table class="ledger stacks">
      <caption>
        In the middle of the units, and the step with its 90 % interval (signed ranks; one chance in twenty of
        calling anything here a step that is none)
      </caption>
      <thead>
        <tr>
          <th scope="col">What</th>
          <th scope="col" class="number">
            Units
          </th>
          <th scope="col" class="number">
            Before
          </th>
          <th scope="col" class="number">
            After
          </th>
          <th scope="col" class="number">
            Step
          </th>
          <th scope="col">So</th>
        </tr>
      </thead>
      <tbody>
        {told.steps.map((step) => (
          <tr>
            <th scope="row">{measureName(step.measure)}</th>
            <td class="number" data-label="Units">
              {step.units}
            </td>
            <td class="number" data-label="Before">
              {levelWords(step.measure, step.before)}
            </td>
            <td class="number" data-label="After">
              {levelWords(step.measure, step.after)}
            </td>
            <td class="number" data-label="Step">
              {stepWords(step)}
            </td>
            <td data-label="So">
              {step.verdict === "moved" ? <strong>{verdictWords.moved}</strong> : verdictWords[step.verdict]}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
