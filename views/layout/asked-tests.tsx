import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { CsrfField, Field } from "./forms.tsx";
import type { Reader } from "./page.tsx";
import { agoWords, dateTimeWords } from "./words.ts";

/** A test the clinic asked this desk for. */
export interface AskedTest {
  readonly id: string;
  /** A unit for the bench, a person and loan for Stores. */
  readonly about: string;
  readonly href: string;
  readonly sentence: string;
  readonly askedAt: Instant;
  readonly stretchFrom: Instant;
  readonly results: readonly string[];
}

interface AskedTestsProps {
  readonly signedIn: Reader;
  readonly zone: ZoneName;
  readonly now: Instant;
  readonly action: string;
  readonly tests: readonly AskedTest[];
}

/** What the clinic waits for from this desk, each with its answer to choose. */
export function AskedTests({ signedIn, zone, now, action, tests }: AskedTestsProps) {
  if (tests.length === 0) return null;
  return (
    <section class="asked-tests">
      <h2>Asked by the clinic</h2>
      <ul class="worklist">
        {tests.map((test) => (
          <li>
            <div>
              <p class="sentence">
                <a href={test.href}>{test.about}</a>. {test.sentence}
              </p>
              <p class="since">
                Asked {agoWords(test.askedAt, now)}, about the record from{" "}
                {dateTimeWords(test.stretchFrom, zone)}
              </p>
            </div>
            <form method="post" action={`${action}/${test.id}`} class="next screen-only">
              <CsrfField signedIn={signedIn} />
              <Field
                label="It showed"
                name="result"
                value=""
                choices={[
                  { value: "", words: "Choose" },
                  ...test.results.map((value) => ({ value, words: value })),
                ]}
              />
              <button type="submit">Write it down</button>
            </form>
          </li>
        ))}
      </ul>
    </section>
  );
}
