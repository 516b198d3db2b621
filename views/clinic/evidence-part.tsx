import type { EvidenceLine, Verdict } from "../../server/domain/verdicts/verdict.ts";
import { sideNames } from "./side-words.ts";

/** Decibans at which a bar is full. */
const fullBar = 20;

/** The clues for and against, heaviest first, each with how much it moved the answer. */
export function EvidencePart({ verdict }: { verdict: Verdict }) {
  const side = sideNames[verdict.leadingSide].toLowerCase();
  const speaksFor = verdict.evidence.filter(({ weight }) => weight > 0);
  const against = verdict.evidence.filter(({ weight }) => weight < 0);
  return (
    <section id="evidence">
      <h2>Evidence</h2>
      <p class="lead">
        How much each clue moved the odds on {side}, given all the others: 10 decibans make the odds ten times
        as high or as low, 3 about twice.
      </p>
      <Lines
        title={`Speaks for ${side}`}
        lines={speaksFor}
        empty="Nothing seen speaks for it; it leads by its starting share alone."
      />
      <Lines title={`Speaks against ${side}`} lines={against} empty="Nothing seen speaks against it." />
    </section>
  );
}

function Lines({ title, lines, empty }: { title: string; lines: readonly EvidenceLine[]; empty: string }) {
  if (lines.length === 0) {
    return (
      <>
        <h3>{title}</h3>
        <p>{empty}</p>
      </>
    );
  }
  return (
    <table class="ledger evidence stacks">
      <caption>
        <h3>{title}</h3>
      </caption>
      <thead>
        <tr>
          <th scope="col">What was seen</th>
          <th scope="col">Weight</th>
        </tr>
      </thead>
      <tbody>
        {lines.map(({ sentence, weight }) => (
          <tr>
            <td>{sentence}</td>
            <td class="weighed" data-label="Weight">
              <Weight weight={weight} />
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Weight({ weight }: { weight: number }) {
  const size = Math.abs(weight);
  const share = `${(Math.min(1, size / fullBar) * 100).toFixed(1)}%`;
  return (
    <>
      <svg class="weight" width="80" height="12" aria-hidden="true" focusable="false">
        <rect class={weight > 0 ? undefined : "against"} x="0.5" y="0.5" width={share} height="11" />
      </svg>
      {strength(size)} ({weight > 0 ? "+" : "−"}
      {size.toFixed(1)} decibans)
    </>
  );
}

const strength = (size: number): string =>
  size >= 10 ? "very strong" : size >= 5 ? "strong" : size >= 2 ? "moderate" : "slight";
