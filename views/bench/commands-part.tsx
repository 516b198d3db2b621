import type { CommandKind, CommandLine } from "../../server/domain/commands/command.ts";
import { CsrfField } from "../layout/forms.tsx";
import { dateTimeWords } from "../layout/words.ts";
import { commandNames, foundWords, standingWords } from "./command-words.ts";
import type { BenchFrame } from "./frame.ts";

interface CommandsProps {
  readonly frame: BenchFrame;
  readonly serial: string;
  readonly mayAsk: readonly CommandKind[];
  readonly commands: readonly CommandLine[];
}

/** What the unit can be asked from here, and what became of what it was asked. */
export function CommandsPart({ frame, serial, mayAsk, commands }: CommandsProps) {
  return (
    <section id="commands">
      <h2>Ask the unit</h2>
      <p>
        It is told at once where it is connected, or when it next connects. After a day without an answer the
        question lapses.
      </p>
      <form method="post" action={`/bench/units/${serial}/commands`}>
        <CsrfField signedIn={frame.signedIn} />
        <div class="actions">
          {mayAsk.map((kind) => (
            <button type="submit" name="kind" value={kind} class="quiet">
              {commandNames[kind]}
            </button>
          ))}
        </div>
      </form>
      {commands.length === 0 ? (
        <p class="empty">It has not been asked anything yet.</p>
      ) : (
        <div class="wide">
          <table class="ledger stacks">
            <caption>What it was asked, newest first</caption>
            <thead>
              <tr>
                <th scope="col">Asked to</th>
                <th scope="col">By</th>
                <th scope="col">What became of it</th>
              </tr>
            </thead>
            <tbody>
              {commands.map((line) => (
                <tr>
                  <th scope="row">{commandNames[line.kind]}</th>
                  <td data-label="By">
                    {line.issuedBy ?? "nobody: of itself"}, {dateTimeWords(line.issuedAt, frame.zone)}
                  </td>
                  <td data-label="What became of it">
                    {standingWords(line, frame.zone)}. {line.found === null ? null : foundWords(line.found)}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}
