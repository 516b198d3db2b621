import { raw } from "hono/html";
import { agoWords, dateTimeWords } from "../layout/words.ts";
import { SeenFields, type SessionPageProps } from "./bench-session-props.tsx";

/** How the unit reaches us from here: by a code of this session, so that what it sends is nobody's record. */
export function BenchConnectPart({ frame, session, connection, mine }: SessionPageProps) {
  const { state, picture, typed, expiresAt, lastHeardAt } = connection;
  return (
    <section id="connection" class="stack" data-connection={state}>
      <h2>Connection</h2>
      {state === "paired" ? (
        <p>
          The unit is paired for this session
          {lastHeardAt === null ? "" : `; last heard ${agoWords(lastHeardAt, frame.now)}`}. What it sends here
          belongs to no borrower’s record.
        </p>
      ) : state === "code-issued" ? (
        <>
          <p>
            Show this to the unit’s relay, or type the letters. It can be used until{" "}
            {dateTimeWords(expiresAt ?? frame.now, frame.zone)}.
          </p>
          {picture === null ? null : <figure class="pairing-figure bench-code">{raw(picture)}</figure>}
          <p class="typed-letters">{typed}</p>
        </>
      ) : (
        <p>Off loan a unit can’t connect: pair it for this session first.</p>
      )}
      {mine ? (
        <form method="post" action={`/bench/sessions/${session.id}/pair`}>
          <SeenFields frame={frame} session={session} />
          <button type="submit" class={state === "none" ? undefined : "quiet"}>
            {state === "none"
              ? "Show a pairing code"
              : state === "paired"
                ? "Pair it anew"
                : "Replace the code"}
          </button>
        </form>
      ) : null}
    </section>
  );
}
