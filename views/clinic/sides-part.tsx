import { type Side, sides, type Verdict } from "../../server/domain/verdicts/verdict.ts";
import { sideMeanings, sideNames } from "./side-words.ts";

const percent = (share: number, whole: (percent: number) => number = Math.round): string =>
  share > 0.99 ? "over 99\u00a0%" : share < 0.01 ? "under 1\u00a0%" : `${whole(share * 100)}\u00a0%`;

/** As in the sentence above it, which never promises more than the number. */
const down = (share: number): number => Math.floor(share + 1e-9);

export function SidesPart({ verdict }: { verdict: Verdict }) {
  const causesOf = (side: Side) =>
    verdict.causes
      .filter((cause) => cause.side === side && cause.probability >= 0.03)
      .map(({ words, probability }) => `${words} (${percent(probability)})`)
      .join("; ");
  const ranked = [...sides].sort((a, b) => verdict.sides[b] - verdict.sides[a]);
  const most = Math.max(...Object.values(verdict.sides));
  return (
    <section id="sides">
      <h2>Whose side, and how sure</h2>
      <p>{threshold(verdict)}</p>
      <div class="wide">
        <table class="ledger stacks">
          <caption>Probability of each side, and the causes behind it</caption>
          <thead>
            <tr>
              <th scope="col">Side</th>
              <th scope="col" class="number">
                Probability
              </th>
              <th scope="col">Causes still likely</th>
            </tr>
          </thead>
          <tbody>
            {ranked.map((side) => (
              <tr>
                <th scope="row">
                  {sideNames[side]}
                  <div class="since">{sideMeanings[side]}</div>
                </th>
                <td class="number" data-label="Probability">
                  {percent(verdict.sides[side], verdict.sides[side] === most ? down : Math.round)}
                </td>
                <td data-label="Causes still likely">{causesOf(side) || "none above 3 %"}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <WouldChange changes={verdict.wouldChange} />
    </section>
  );
}

function threshold({ outcome, leadingSide, threshold: asked, heldBack }: Verdict): string {
  if (heldBack) return heldBack;
  const side = sideNames[leadingSide];
  return outcome === "not-settled"
    ? `${side} leads, but it takes ${percent(asked)} to call it settled.`
    : `It takes ${percent(asked)} to call ${side.toLowerCase()} settled.`;
}

/** The smallest changes of evidence that would give another answer. Verdicts of an earlier release know none. */
function WouldChange({ changes }: { changes: Verdict["wouldChange"] }) {
  if (!changes) return null;
  return (
    <>
      <h3>What would change the answer</h3>
      {changes.length === 0 ? (
        <p>No other value of one clue, or of two, would give another answer.</p>
      ) : (
        <ul class="history">
          {changes.map(({ sentence }) => (
            <li>{sentence}</li>
          ))}
        </ul>
      )}
    </>
  );
}
