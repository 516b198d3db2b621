import type {
  BandScore,
  BenchSaid,
  Calibration,
  Confused,
} from "../../server/domain/learning/calibration.ts";
import type { LearnedTable } from "../../server/domain/learning/learned-priors.ts";
import { catalogue } from "../../server/domain/verdicts/causes.ts";
import { counted } from "../layout/counted.ts";
import { Page } from "../layout/page.tsx";
import { FirmwarePart, type FirmwareRelief } from "./firmware-part.tsx";
import type { ClinicFrame } from "./frame.ts";
import { sideNames } from "./side-words.ts";

/** How often a clue had a value where a cause was found out. */
export interface ClueCount {
  readonly clue: string;
  readonly value: string;
  readonly cause: string;
  readonly times: number;
}

interface CalibrationPageProps {
  readonly frame: ClinicFrame;
  readonly calibration: Calibration;
  readonly bench: BenchSaid;
  readonly tables: readonly LearnedTable[];
  readonly clues: readonly ClueCount[];
  readonly firmware: readonly FirmwareRelief[];
  /** Outcomes from which a table takes effect. */
  readonly learnedFrom: number;
  readonly learningIsOn: boolean;
}

/** Fewer verdicts than this say nothing of a band. Assumption. */
const fewestForRates = 10;
const percent = (share: number): string => `${Math.round(share * 100)}\u00a0%`;
const tableNames = {
  "gap-short": "Gaps under 4 h",
  "gap-day": "Gaps of 4 to 24 h",
  "gap-long": "Gaps of one to three days",
  "gap-days": "Gaps of three days and more",
  thin: "Thin stretches",
} as const;

/** Can the verdicts be believed? Held against what was found out afterwards. */
export function CalibrationPage(props: CalibrationPageProps) {
  const { frame, calibration } = props;
  return (
    <Page {...frame} title="How far the verdicts can be believed">
      <p class="lead">
        <a href="/clinic">Clinic</a>
      </p>
      <h1>How far the verdicts can be believed</h1>
      <p class="lead">
        Every verdict is held against what the bench, a visit or a clinician found out afterwards; never
        against another verdict. What gets found out is not a fair sample: doubtful stretches are looked into
        more.
      </p>
      {calibration.verdicts < fewestForRates ? (
        <p class="empty">
          Not enough learned yet: {calibration.verdicts} of the {fewestForRates} verdicts it takes have been
          found out. Each gap's page takes what you learned; bench and Stores answer the tests they are asked
          for.
        </p>
      ) : (
        <Scores calibration={calibration} />
      )}
      <Bench said={props.bench} />
      <Tables {...props} />
      <Clues clues={props.clues} />
      <FirmwarePart came={props.firmware} />
    </Page>
  );
}

function Scores({ calibration }: { calibration: Calibration }) {
  const { brier, overturned, wronglyThePerson, verdicts } = calibration;
  return (
    <>
      <section id="bands">
        <h2>Said and found</h2>
        <p>
          Of {verdicts} verdicts found out, {overturned} had been settled on another side
          {overturned === 0 ? "" : `, ${wronglyThePerson} of them on the person's`}. Brier score{" "}
          {brier === null ? "unknown" : brier.toFixed(3)} (0 is perfect, 2 the worst).
        </p>
        <div class="wide">
          <table class="ledger stacks">
            <caption>
              By how sure the verdict was: well calibrated where what was said lies in the interval
            </caption>
            <thead>
              <tr>
                <th scope="col">Said</th>
                <th scope="col" class="number">
                  Verdicts
                </th>
                <th scope="col" class="number">
                  Mean said
                </th>
                <th scope="col">Right, with its 95 % interval</th>
              </tr>
            </thead>
            <tbody>
              {calibration.bands.map((band) => (
                <tr>
                  <th scope="row">{band.words}</th>
                  <td class="number" data-label="Verdicts">
                    {band.verdicts}
                  </td>
                  <td class="number" data-label="Mean said">
                    {band.said === null ? "none" : percent(band.said)}
                  </td>
                  <td data-label="Right">{rightWords(band)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      </section>
      <ConfusedList
        title="Sides confused"
        pairs={calibration.confusedSides}
        name={(side) => sideNames[side].toLowerCase()}
      />
      <ConfusedList title="Causes confused" pairs={calibration.confusedCauses} name={causeWords} />
    </>
  );
}

function Bench({ said: { tested, sound } }: { said: BenchSaid }) {
  return (
    <section id="bench">
      <h2>What the bench made of them</h2>
      {tested === 0 ? (
        <p class="empty">No verdict on the unit’s side has been tested on the bench yet.</p>
      ) : (
        <p>
          Of {counted(tested, "verdict")} on the unit’s side that the bench tested, {sound} had no fault
          found: the verdict was wrong of the unit. Whose side it was is not known by that, so they are in no
          score.
        </p>
      )}
    </section>
  );
}

const rightWords = ({ verdicts, right, wasRight }: BandScore): string =>
  wasRight === null
    ? "none yet"
    : `${right} of ${verdicts}: ${percent(wasRight.low)} to ${percent(wasRight.high)}`;

const everyCause = [...catalogue("gap"), ...catalogue("thin")];
const causeWords = (id: string): string => everyCause.find((cause) => cause.id === id)?.label ?? id;

function ConfusedList<Name extends string>(props: {
  title: string;
  pairs: readonly Confused<Name>[];
  name: (id: Name) => string;
}) {
  return (
    <section>
      <h2>{props.title}</h2>
      {props.pairs.length === 0 ? (
        <p class="empty">None so far.</p>
      ) : (
        <ul>
          {props.pairs.map(({ said, was, times }) => (
            <li>
              {props.name(said)} led, it was {props.name(was)}: {times === 1 ? "once" : `${times} times`}
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}

function Tables({ tables, learnedFrom, learningIsOn }: CalibrationPageProps) {
  return (
    <section id="shares">
      <h2>Where verdicts start from</h2>
      <p>
        {learningIsOn
          ? `From ${learnedFrom} outcomes of a kind on, verdicts start from the learned shares; before that from the documented ones. The administrator can go back to the documented shares at any time (Assumptions).`
          : "The programme has chosen to start from the documented shares. What is found out stays counted."}
      </p>
      {tables.map((table) => (
        <details>
          <summary>
            {tableNames[table.table]}: {table.outcomes} found out,{" "}
            {table.inForce ? "learned shares in force" : "documented shares in force"}
          </summary>
          <div class="wide">
            <table class="ledger stacks">
              <caption>Share of each cause before anything is seen of a stretch</caption>
              <thead>
                <tr>
                  <th scope="col">Cause</th>
                  <th scope="col" class="number">
                    Found out
                  </th>
                  <th scope="col" class="number">
                    Documented
                  </th>
                  <th scope="col" class="number">
                    Learned
                  </th>
                </tr>
              </thead>
              <tbody>
                {catalogue(table.table === "thin" ? "thin" : "gap").map(({ label }, index) => (
                  <tr>
                    <th scope="row">{label}</th>
                    <td class="number" data-label="Found out">
                      {(table.counts[index] ?? 0).toFixed(1)}
                    </td>
                    <td class="number" data-label="Documented">
                      {(100 * (table.documented[index] ?? 0)).toFixed(1)}&nbsp;%
                    </td>
                    <td class="number" data-label="Learned">
                      {(100 * (table.learned[index] ?? 0)).toFixed(1)}&nbsp;%
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </details>
      ))}
      <p class="lead">
        An outcome of which only the side is known counts for its causes in their documented proportion.
      </p>
    </section>
  );
}

function Clues({ clues }: { clues: readonly ClueCount[] }) {
  return (
    <section id="clues">
      <h2>What was seen where the cause is known</h2>
      {clues.length === 0 ? (
        <p class="empty">No cause has been found out yet, so no clue has been counted.</p>
      ) : (
        <details>
          <summary>Counts by cause and clue</summary>
          <p>Counted and shown; the documented evidence table stays in force whatever stands here.</p>
          <div class="wide">
            <table class="ledger stacks">
              <thead>
                <tr>
                  <th scope="col">Cause found</th>
                  <th scope="col">Clue</th>
                  <th scope="col">Seen as</th>
                  <th scope="col" class="number">
                    Times
                  </th>
                </tr>
              </thead>
              <tbody>
                {clues.map(({ cause, clue, value, times }) => (
                  <tr>
                    <th scope="row">{causeWords(cause)}</th>
                    <td data-label="Clue">{clue.replaceAll("-", " ")}</td>
                    <td data-label="Seen as">{value.replaceAll("-", " ")}</td>
                    <td data-label="Times" class="number">
                      {times}
                    </td>
                  </tr>
                ))}
              </tbody>
            </table>
          </div>
        </details>
      )}
    </section>
  );
}
