import type { FirmwareSteps } from "../../server/domain/firmware/firmware-steps.ts";
import { counted } from "../layout/counted.ts";
import { stepWords } from "../layout/firmware-words.ts";

export interface FirmwareRelief {
  readonly firmware: string;
  readonly told: FirmwareSteps;
}

/** Whether new firmware counts reliefs otherwise: then a change in a person's figures is none of theirs. */
export function FirmwarePart({ came }: { readonly came: readonly FirmwareRelief[] }) {
  return (
    <section id="firmware">
      <h2>New firmware and the reliefs it counts</h2>
      {came.length === 0 ? (
        <p class="empty">No firmware came to units within the last four weeks.</p>
      ) : (
        <ul class="story">
          {came.map((each) => (
            <li>{sentenceOf(each)}</li>
          ))}
        </ul>
      )}
    </section>
  );
}

function sentenceOf({ firmware, told: { units, steps } }: FirmwareRelief): string {
  const [step] = steps;
  const came = `${firmware} came to ${counted(units, "unit")} with days enough at either side`;
  if (step === undefined || step.verdict === "too-few-units") return `${came}: too few to tell.`;
  return step.verdict === "moved"
    ? `${came}: since the day it came, full reliefs counted have moved by ${stepWords(step)} (90 %). So many people don’t change at once: in these units look at the firmware before the person.`
    : `${came}: no step seen in full reliefs counted, ${stepWords(step)} (90 %).`;
}
