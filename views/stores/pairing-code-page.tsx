import { raw } from "hono/html";
import type { Instant } from "../../server/domain/units.ts";
import { Page } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";
import { initialsOf } from "./initials.ts";
import type { LoanFacts } from "./loan-facts.ts";

interface PairingCodePageProps {
  readonly frame: StoresFrame;
  readonly loan: LoanFacts;
  /** Trusted markup: an SVG that we drew ourselves. */
  readonly picture: string;
  readonly typed: string;
  readonly expiresAt: Instant;
}

/** One sheet of paper that travels with the unit. It carries initials only: paper gets lost. */
export function PairingCodePage({ frame, loan, picture, typed, expiresAt }: PairingCodePageProps) {
  return (
    <Page title={`Pairing code of ${loan.reference}`} {...frame}>
      <p class="screen-only">
        <a href={`/stores/loans/${loan.id}`}>Back to loan {loan.reference}</a>. Print this page and hand it
        over with the unit; it can be used once.
      </p>
      <article class="label-sheet">
        <h1>Setting up your cushion</h1>
        <div class="label-top">
          <figure class="pairing-figure">
            {raw(picture)}
            <figcaption class="seen-by-readers-only">
              The pairing code as a picture for the camera. The same code in letters stands below.
            </figcaption>
          </figure>
          <dl class="label-facts">
            <dt>Unit</dt>
            <dd class="label-serial">{loan.unitSerial}</dd>
            <dt>Model and size</dt>
            <dd>
              {loan.modelName}, {loan.size}
            </dd>
            <dt>Lot</dt>
            <dd>{loan.lotId}</dd>
            <dt>Loan</dt>
            <dd>
              {loan.reference}, for {initialsOf(loan.borrowerName)}
            </dd>
            <dt>Use it before</dt>
            <dd>
              {dateTimeWords(expiresAt, frame.zone)} ({frame.zone})
            </dd>
          </dl>
        </div>
        <p class="typed-code">
          <span class="typed-label">No camera? Type this instead:</span>
          <span class="typed-letters">{typed}</span>
        </p>
        <ol class="set-up">
          <li>Check that the number on the cushion is {loan.unitSerial}.</li>
          <li>Lay the cushion on the seat, front edge to the front, with its cover on.</li>
          <li>Plug it in until its light stays on.</li>
          <li>Show the square above to the relay’s camera, or type the letters into the relay.</li>
          <li>Wait for “joined”. Then sit down, and lean left, right and forward once each.</li>
        </ol>
        <p class="label-caution">
          <strong>Keep to your skin checks as you were taught.</strong> The cushion keeps a record; it does
          not watch your skin. If the cushion is swollen, hot or wet: do not charge or open it, get off it
          when it is safe to, and ring us.
        </p>
      </article>
    </Page>
  );
}
