import type { JudgedLine, LineDecision } from "../../server/domain/bench/reading.ts";
import { amountWords, decisionWords, limitWords } from "./measured-words.ts";

export interface ShownLine {
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  readonly expanded: number;
  readonly low: number | null;
  readonly high: number | null;
  readonly decision: LineDecision | "masked";
}

export const shownLine = (line: JudgedLine): ShownLine => ({
  ...line,
  decision: line.decision === "fail" && line.maskable ? "masked" : line.decision,
});

/** Each reading with its uncertainty, the limits and what follows. */
export function JudgedTable({ lines, caption }: { lines: readonly ShownLine[]; caption: string }) {
  return (
    <section class="wide" tabindex={0} aria-label={caption}>
      <table class="ledger judged">
        <caption>{caption}</caption>
        <thead>
          <tr>
            <th scope="col">Reading</th>
            <th scope="col" class="number">
              Value
            </th>
            <th scope="col" class="number">
              ± U (95 %)
            </th>
            <th scope="col">Limits</th>
            <th scope="col">So</th>
          </tr>
        </thead>
        <tbody>
          {lines.map((line) => (
            <tr>
              <th scope="row">{line.name}</th>
              <td class="number">
                {amountWords(line.value, line.unit)} {line.unit}
              </td>
              <td class="number">
                {line.expanded === 0 ? "counted" : amountWords(line.expanded, line.unit)}
              </td>
              <td>{limitWords(line.low, line.high, line.unit)}</td>
              <td>
                <span class={`decision decision-${line.decision}`}>{decisionWords[line.decision]}</span>
              </td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}
