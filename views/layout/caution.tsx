import type { PropsWithChildren } from "hono/jsx";

/** A caution where the decision is made: always a word and a mark, never colour alone. */
export function Caution({ word, children }: PropsWithChildren<{ word?: string }>) {
  return (
    <p class="caution" role="note">
      <strong class="caution-word">
        <span aria-hidden="true">⚠ </span>
        {word ?? "Caution"}
      </strong>{" "}
      {children}
    </p>
  );
}
