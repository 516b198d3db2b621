import type { PropsWithChildren } from "hono/jsx";
import type { StorageFault } from "../../server/domain/storage-fault.ts";
import { Page, type PageProps } from "./page.tsx";
import { faultWords } from "./storage-notice.tsx";

type Frame = Omit<PageProps, "title">;

function Refusal({ title, frame, children }: PropsWithChildren<{ title: string; frame: Frame }>) {
  return (
    <Page title={title} {...frame}>
      <h1>{title}</h1>
      {children}
      <p>
        <a class="button quiet" href="/">
          Back to your desk
        </a>
      </p>
    </Page>
  );
}

/** Names the rule that refused. */
export function NotAllowedPage({ frame, action, allowed }: NotAllowedProps) {
  return (
    <Refusal title="Not for this desk" frame={frame}>
      <p class="sentence">
        Nothing was changed. The rule “{action.replaceAll("-", " ")}” is kept for {listWords(allowed)}
        {frame.signedIn ? `; you are signed in as ${frame.signedIn.staff.role}` : ""}.
      </p>
      <p>If you need this for your work, ask an administrator of the programme.</p>
    </Refusal>
  );
}

interface NotAllowedProps {
  readonly frame: Frame;
  readonly action: string;
  readonly allowed: readonly string[];
}

const listWords = (words: readonly string[]): string =>
  words.length < 2
    ? (words[0] ?? "nobody")
    : `${words.slice(0, -1).join(", ")} and ${words[words.length - 1] ?? ""}`;

export function NotOurFormPage({ frame }: { frame: Frame }) {
  return (
    <Refusal title="This form was not accepted" frame={frame}>
      <p class="sentence">
        Nothing was changed. The form carried no proof that it came from a page you opened here, which happens
        when you signed in again in another window, or when another site sent it.
      </p>
      <p>Go back, reload the page and send it again.</p>
    </Refusal>
  );
}

export function TooLargePage({ frame }: { frame: Frame }) {
  return (
    <Refusal title="Too large" frame={frame}>
      <p class="sentence">What was sent is larger than any form here. Nothing was changed.</p>
    </Refusal>
  );
}

export function NotFoundPage({ frame }: { frame: Frame }) {
  return (
    <Refusal title="Nothing here" frame={frame}>
      <p class="sentence">
        There is no such page, or it is about something that this desk doesn’t see. Nothing was changed.
      </p>
    </Refusal>
  );
}

export function NotSavedPage({ frame, fault }: { frame: Frame; fault: StorageFault }) {
  return (
    <Refusal title="Not saved" frame={frame}>
      <p class="sentence">
        What you just sent was not saved: {faultWords[fault]}. What had been saved before is still saved.
      </p>
      <p>Tell whoever looks after the server, and send it again once they have put it right.</p>
    </Refusal>
  );
}

export function BrokenPage({ frame, reference }: { frame: Frame; reference: string }) {
  return (
    <Refusal title="That went wrong" frame={frame}>
      <p class="sentence">
        The console failed while making this page. What had been saved before is still saved; what you just
        sent was not.
      </p>
      <p>
        Try once more. If it fails again, tell whoever looks after the console, with this reference:{" "}
        <code>{reference}</code>.
      </p>
    </Refusal>
  );
}
