import type { CommandLine } from "../../server/domain/commands/command.ts";
import { standingWords } from "../layout/command-words.ts";
import { CsrfField } from "../layout/forms.tsx";
import type { ClinicFrame } from "./frame.ts";

/** The first thing to try costs one press: an answer shows that the unit is powered and in reach. */
export function AskForFrame(props: {
  frame: ClinicFrame;
  stretch: string;
  asked: CommandLine | null;
  /** What is known of the unit's grid now, its pictures taken into account. */
  grid: readonly string[];
}) {
  const { frame, stretch, asked, grid } = props;
  const open = asked !== null && ["waiting", "sent", "accepted"].includes(asked.state);
  return (
    <>
      {asked === null ? null : (
        <p>
          The unit was asked for a picture of its grid: {standingWords(asked, frame.zone)}.
          {asked.state === "done" ? ` ${toldBy(grid)}` : ""}
        </p>
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

const toldBy = (grid: readonly string[]): string =>
  `It is powered and in reach. ${
    grid.length === 0
      ? "No fault of its grid is known; one that only shows under load may take a sit to be found."
      : `Known of its grid: ${grid.join(" ")}`
  }`;
