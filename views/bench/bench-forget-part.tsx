import type { Forgetting } from "../../server/domain/bench/forgetting.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { reasonWords } from "../layout/command-words.ts";
import { dateTimeWords } from "../layout/words.ts";
import { SeenFields, type SessionPageProps } from "./bench-session-props.tsx";

/** What the unit still keeps of the person it was with, and the button that ends that. */
export function BenchForgetPart({ frame, session, forgetting, connection, mine }: SessionPageProps) {
  const asks = forgetting.kind === "keeps" || forgetting.kind === "declined" || forgetting.kind === "unheard";
  return (
    <section id="keeps" class="stack" data-keeps={forgetting.kind}>
      <h2>What it still keeps</h2>
      <p>{forgettingWords(forgetting, frame.zone)}</p>
      {asks && connection.state === "paired" && mine ? (
        <form class="stack" method="post" action={`/bench/sessions/${session.id}/forget`}>
          <SeenFields frame={frame} session={session} />
          <p class="hint">
            It first hands over all that has not arrived yet, then forgets its store, its relief plan, what it
            learned of the seat and the relays it knows. What has arrived here stays on record. After an
            injury or a near miss don’t press it: keep the unit and its data as they are, and follow local
            policy.
          </p>
          <div class="actions">
            <button type="submit">Let it forget everything</button>
          </div>
        </form>
      ) : asks && mine ? (
        <p>It can be told to forget once it is paired for this session.</p>
      ) : null}
    </section>
  );
}

export function forgettingWords(forgetting: Forgetting, zone: ZoneName): string {
  switch (forgetting.kind) {
    case "never-lent":
      return "Nothing of anybody: it was never set up with a borrower.";
    case "keeps":
      return `Its last loan ended ${dateTimeWords(forgetting.lentUntil, zone)}. It has not been told since to forget what it recorded then, and can’t go into stock before.`;
    case "under-way":
      return `Asked to forget everything ${dateTimeWords(forgetting.askedAt, zone)}. It does so once all it keeps has arrived; this part renews itself.`;
    case "declined":
      return `It declined to forget, ${dateTimeWords(forgetting.at, zone)}: ${reasonWords(forgetting.reason)}. It can’t go into stock with what it keeps.`;
    case "unheard":
      return `It was asked to forget ${dateTimeWords(forgetting.askedAt, zone)} and never said that it did. Until it has, it can’t go into stock.`;
    case "forgot":
      return `Nothing of anybody: it said that it forgot everything, ${dateTimeWords(forgetting.at, zone)}.`;
  }
}
