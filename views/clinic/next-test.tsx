import type { CommandLine } from "../../server/domain/commands/command.ts";
import type { Instant } from "../../server/domain/units.ts";
import type { SettlingTest, Verdict } from "../../server/domain/verdicts/verdict.ts";
import { CsrfField } from "../layout/forms.tsx";
import { dateTimeWords } from "../layout/words.ts";
import { AskForFrame } from "./ask-for-frame.tsx";
import type { ClinicFrame } from "./frame.ts";
import { isWorthDoing } from "./settle-part.tsx";

/** A test that another desk was asked for. */
export interface TestRequestLine {
  readonly test: string;
  readonly desk: "stores" | "bench" | "clinic";
  readonly askedAt: Instant;
  /** null: not done yet. */
  readonly result: string | null;
  readonly doneAt: Instant | null;
}

interface NextTestProps {
  readonly frame: ClinicFrame;
  readonly stretch: { readonly id: string };
  readonly verdict: Verdict;
  readonly frameAsked: CommandLine | null;
  /** Findings of the unit's grid that stand, in sentences. */
  readonly grid: readonly string[];
  readonly requests: readonly TestRequestLine[];
}

const deskWords = { stores: "Stores", bench: "the Bench", clinic: "you" } as const;
export const testNames: Readonly<Record<string, string>> = {
  bench: "Measure the unit on the bench",
  visit: "A visit",
  "lean-test": "A lean test at a visit",
};

/** The first test worth doing as a button; the next one for another desk beside it, and what was asked for already. */
export function NextTest({ frame, stretch, verdict, frameAsked, grid, requests }: NextTestProps) {
  const worth = verdict.settle.filter(isWorthDoing);
  const first = worth[0]?.test;
  const open = new Set(requests.filter(({ doneAt }) => doneAt === null).map(({ test }) => test));
  const forOthers = worth.filter(({ test }) => testNames[test] !== undefined && !open.has(test));
  const asksUnit = first === "ask-for-frame" || first === "await-backlog" || frameAsked !== null;
  return (
    <>
      {requests.map((request) => (
        <p>{requestWords(request, frame)}</p>
      ))}
      {first === "ring" ? (
        <p>
          <a class="button" href="#ring">
            Ring, with these words
          </a>
        </p>
      ) : null}
      {asksUnit ? <AskForFrame frame={frame} stretch={stretch.id} asked={frameAsked} grid={grid} /> : null}
      {forOthers.map((test) => (
        <Ask frame={frame} stretch={stretch.id} test={test} first={test.test === first} />
      ))}
    </>
  );
}

function Ask(props: { frame: ClinicFrame; stretch: string; test: SettlingTest; first: boolean }) {
  const { test } = props;
  return (
    <form method="post" action={`/clinic/gaps/${props.stretch}/tests`} class="screen-only">
      <CsrfField signedIn={props.frame.signedIn} />
      <input type="hidden" name="test" value={test.test} />
      <button type="submit" class={props.first ? undefined : "quiet"}>
        {testNames[test.test]}: put it on the list of {deskWords[test.desk]}
      </button>
    </form>
  );
}

function requestWords(
  { test, desk, askedAt, result, doneAt }: TestRequestLine,
  { zone }: ClinicFrame,
): string {
  const asked = `${testNames[test] ?? test}: asked of ${deskWords[desk]} on ${dateTimeWords(askedAt, zone)}`;
  return doneAt === null
    ? `${asked}; it stands on their list.`
    : `${asked}; on ${dateTimeWords(doneAt, zone)} it showed: ${result}.`;
}
