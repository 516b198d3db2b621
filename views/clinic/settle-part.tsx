import type { Child } from "hono/jsx";
import type { SettlingTest } from "../../server/domain/verdicts/verdict.ts";

const deskNames = { stores: "Stores", bench: "Bench", clinic: "you" } as const;
const doneBy = ({ test, desk }: SettlingTest): string =>
  test === "ask-for-frame" ? "you, by a press of the button" : deskNames[desk];

/** Below so many bits a test is expected to tell nothing worth anyone's time, a call to a person least of all. Assumption. */
const worthDoing = 0.02;
export const isWorthDoing = ({ expectedBits }: SettlingTest): boolean => expectedBits >= worthDoing;

/** What would settle it, best first. */
/** @param props.children the first test as something to press */
export function SettlePart(props: { tests: readonly SettlingTest[]; settled: boolean; children?: Child }) {
  const { settled } = props;
  const tests = props.tests.filter(isWorthDoing);
  const call = tests.find(({ wording }) => wording !== null);
  return (
    <section id="settle">
      <h2>{settled ? "What would make it surer" : "What would settle it"}</h2>
      {tests.length === 0 ? (
        <p>It is as sure as it needs to be: no test is expected to tell anything worth the effort.</p>
      ) : (
        <div class="wide">
          <table class="ledger stacks">
            <caption>
              By what each is expected to tell for its effort. One bit would halve the doubt between two equal
              sides.
            </caption>
            <thead>
              <tr>
                <th scope="col">Test</th>
                <th scope="col">Done by</th>
                <th scope="col" class="number">
                  Expected to tell
                </th>
                <th scope="col" class="number">
                  Effort
                </th>
              </tr>
            </thead>
            <tbody>
              {tests.map((test) => (
                <tr>
                  <td>{test.sentence}</td>
                  <td data-label="Done by">{doneBy(test)}</td>
                  <td data-label="Expected to tell" class="number">
                    {test.expectedBits.toFixed(2)} bits
                  </td>
                  <td data-label="Effort" class="number">
                    {test.effortMinutes} min
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {props.children}
      {call?.wording ? (
        <>
          <h3 id="ring">If you ring</h3>
          <blockquote class="wording">{call.wording}</blockquote>
          <p class="screen-only">
            This desk keeps no telephone numbers; Stores has them.{" "}
            <a href="#write">Write down what you learned</a> afterwards.
          </p>
        </>
      ) : null}
    </section>
  );
}
