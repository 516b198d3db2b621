import { counted } from "../layout/counted.ts";
import { CsrfField, Problems } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { BenchFrame } from "./frame.ts";

export interface LogTold {
  readonly stored: number;
  readonly alreadyHad: number;
  readonly keptAside: number;
  readonly faults: readonly {
    readonly number: number;
    readonly byte: number;
    readonly what: "damaged" | "cut-off" | "not-a-record";
  }[];
}

interface LogPageProps {
  readonly frame: BenchFrame;
  readonly serial: string;
  readonly told?: LogTold;
  readonly problem?: string;
}

/** What was read off a unit over a cable comes in here, when it can't reach us itself. */
export function LogPage({ frame, serial, told, problem }: LogPageProps) {
  return (
    <Page title={`Load a log of ${serial}`} {...frame}>
      <h1>Load a log of {serial}</h1>
      <p class="lead">
        A log is the unit’s own store, read off it over a cable. What it holds goes through the same checks as
        what comes over the air, and belongs to the loan in force when it happened.
      </p>
      <Problems errors={problem === undefined ? undefined : { form: problem }} />
      {told === undefined ? null : <Told {...told} />}
      <form class="form" method="post" action={`/bench/units/${serial}/log`} enctype="multipart/form-data">
        <CsrfField signedIn={frame.signedIn} />
        <div class="field">
          <label for="field-log">Log file</label>
          <p class="hint" id="hint-log">
            Its name ends in .cushion-log. Loading it twice changes nothing.
          </p>
          <input
            id="field-log"
            name="log"
            type="file"
            accept=".cushion-log"
            aria-describedby="hint-log"
            required
          />
        </div>
        <button type="submit">Load it</button>
      </form>
      <p>
        <a href={`/bench/units/${serial}`}>Back to {serial}</a>
      </p>
    </Page>
  );
}

function Told({ stored, alreadyHad, keptAside, faults }: LogTold) {
  return (
    <div class="told" role="status">
      <p>
        {counted(stored, "message")} stored, {alreadyHad} already here, {keptAside} kept aside.
        {faults.length === 0 ? " The file was whole." : ""}
      </p>
      {faults.length === 0 ? null : (
        <ul class="story">
          {faults.map(({ number, byte, what }) => (
            <li>
              Record {number}, at byte {byte}: {faultWords[what]}
            </li>
          ))}
        </ul>
      )}
    </div>
  );
}

const faultWords = {
  damaged: "its checksum doesn’t match, so it was left out. The others were loaded.",
  "cut-off": "the file ends within it. Everything before was loaded; read the unit again for the rest.",
  "not-a-record": "what stands there is no record. Everything before was loaded, nothing after it.",
} as const;
