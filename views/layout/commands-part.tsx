import type { CommandKind, CommandLine } from "../../server/domain/commands/command.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { commandNames, foundWords, standingWords } from "./command-words.ts";
import { CsrfField } from "./forms.tsx";
import type { Reader } from "./page.tsx";
import { dateTimeWords } from "./words.ts";

interface CommandsProps {
  readonly frame: { readonly signedIn: Reader; readonly zone: ZoneName };
  /** Where the question goes. */
  readonly action: string;
  /** false: it holds no certificate in force, so no question would reach it. */
  readonly reachable: boolean;
  /** Of its certificate in use, where that is soon. */
  readonly certificateEnds?: Instant | null;
  readonly mayAsk: readonly CommandKind[];
  readonly commands: readonly CommandLine[];
}

/** What the unit can be asked from here, and what became of what it was asked. */
export function CommandsPart(props: CommandsProps) {
  const { frame, action, reachable, mayAsk, commands, certificateEnds = null } = props;
  return (
    <section id="commands">
      <h2>Ask the unit</h2>
      {certificateEnds === null ? null : (
        <p>
          <strong>Its certificate ends {dateTimeWords(certificateEnds, frame.zone)}</strong>, and it has not
          taken a new one into use. After that it can’t connect and must be paired again; what it records
          meanwhile waits in its own store.
        </p>
      )}
      {reachable ? (
        <>
          <p>
            It is told at once where it is connected, or when it next connects. After a day without an answer
            the question lapses.
          </p>
          <form method="post" action={action}>
            <CsrfField signedIn={frame.signedIn} />
            <div class="actions">
              {mayAsk.map((kind) => (
                <button type="submit" name="kind" value={kind} class="quiet">
                  {commandNames[kind]}
                </button>
              ))}
            </div>
          </form>
        </>
      ) : (
        <p>
          Nothing reaches it now: it holds no certificate in force. A certificate ends with its loan, so that
          nothing a unit sends could count for whoever has it next. It can be asked again once it is paired.
        </p>
      )}
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
