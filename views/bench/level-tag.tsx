import type { ConditionLevel } from "../../server/domain/condition/condition.ts";
import { levelMarks, levelWords } from "./words.ts";

/** How fit a unit is: a mark and a word. */
export function LevelTag({ level }: { level: ConditionLevel | null }) {
  if (level === null) return <span class="tag">not looked at yet</span>;
  return (
    <span class={`tag level-${level}`}>
      <span aria-hidden="true">{levelMarks[level]} </span>
      {levelWords[level]}
    </span>
  );
}
