import type { CommandLine } from "../../server/domain/commands/command.ts";
import { standingWords } from "../layout/command-words.ts";
import { CsrfField } from "../layout/forms.tsx";
import type { ClinicFrame } from "./frame.ts";

/** The first thing to try costs one press: an answer shows that the unit is powered and in reach. */
export function AskForFrame(props: { frame: ClinicFrame; stretch: string; asked: CommandLine | null }) {
  const { frame, stretch, asked } = props;
  const open = asked !== null && ["waiting", "sent", "accepted"].includes(asked.state);
  return (
    <>
      {asked === null ? null : (
        <p>The unit was asked for a picture of its grid: {standingWords(asked, frame.zone)}.</p>
      )}
      {open ? null : (
        <form method="post" action={`/clinic/gaps/${stretch}/frame`}>
          <CsrfField signedIn={frame.signedIn} />
          <button type="submit">Ask the unit for a fresh picture</button>
        </form>
      )}
    </>
  );
}
