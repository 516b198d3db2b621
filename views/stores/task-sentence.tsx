import type { StoresTask } from "../../server/domain/lifecycle/stores-task.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import type { Instant } from "../../server/domain/units.ts";
import { counted } from "../layout/counted.ts";
import { agoWords, dateTimeWords, dayWords } from "../layout/words.ts";
import { Ref } from "./ref.tsx";

interface TaskSentenceProps {
  readonly task: StoresTask;
  readonly now: Instant;
  readonly zone: ZoneName;
}

/** One sentence: the thing, what is the matter, and how things stand. */
export function TaskSentence({ task, now, zone }: TaskSentenceProps) {
  switch (task.kind) {
    case "recall-outstanding":
      return (
        <>
          <Warning /> Recall{" "}
          <b>
            <Ref to={task.reference} />
          </b>
          , {task.title}: {task.outstanding} of {counted(task.affected, "unit")} still without an outcome.
          Told is not yet acted.
        </>
      );
    case "recall-to-close":
      return (
        <>
          Recall{" "}
          <b>
            <Ref to={task.reference} />
          </b>
          , {task.title}: every unit has an outcome. Check the sign-offs and close it.
        </>
      );
    case "visit":
      return <VisitSentence task={task} />;
    case "no-access":
      return (
        <>
          Nobody could let us in at {task.borrower}’s for the {task.task} on {dayWords(task.day)} (
          <b>
            <Ref to={task.reference} />
          </b>
          )
          {task.away === null
            ? ": ring, ask whether they are away or in hospital, and plan another day."
            : `: noted as ${task.away === "hospital" ? "in hospital" : "away from home"}. Plan another day when they are back.`}
        </>
      );
    case "quiet":
      return (
        <>
          No record from{" "}
          <b>
            <Ref to={task.unit} />
          </b>
          , lent to {task.borrower} (<Ref to={task.reference} />
          ). {task.test} Phone: {task.phone}.
        </>
      );
    case "hand-out":
      return <HandOutSentence task={task} now={now} zone={zone} />;
    case "due-back":
      return (
        <>
          {task.overdue ? <Warning word="Overdue:" /> : null}{" "}
          <b>
            <Ref to={task.unit} />
          </b>
          , lent to {task.borrower} ({task.reference}), {task.overdue ? "was" : "is"} due back on{" "}
          {dayWords(task.day)}, and no collection is planned.
        </>
      );
    case "coming-back":
      return (
        <>
          <b>
            <Ref to={task.unit} />
          </b>{" "}
          is coming back from {task.reference} and has not been booked into quarantine.
        </>
      );
  }
}

function Warning({ word = "Act first:" }: { word?: string }) {
  return (
    <strong class="warning">
      <span aria-hidden="true">⚠ </span>
      {word}
    </strong>
  );
}

function VisitSentence({ task }: { task: Extract<StoresTask, { kind: "visit" }> }) {
  const what =
    task.task === "swap" ? (
      <>
        bring <Ref to={task.replacement ?? "a replacement"} /> and take <Ref to={task.unit} /> back
      </>
    ) : (
      <>
        collect <Ref to={task.unit} />
      </>
    );
  return (
    <>
      {task.overdue ? <Warning word="Overdue:" /> : null} {task.doneBy}{" "}
      {task.overdue ? "was to " : "goes today to "}
      {what}
      {task.overdue ? ` on ${dayWords(task.day)}` : ""} at {task.borrower}
      ’s (
      <b>
        <Ref to={task.reference} />
      </b>
      ).
    </>
  );
}

function HandOutSentence({
  task,
  now,
  zone,
}: { task: Extract<StoresTask, { kind: "hand-out" }> } & Omit<TaskSentenceProps, "task">) {
  const unit = (
    <>
      <b>
        <Ref to={task.unit} />
      </b>
      , lent to {task.borrower} (<Ref to={task.reference} />
      ),
    </>
  );
  switch (task.code.state) {
    case "barred":
      return (
        <>
          <Warning word="Don’t hand it out:" /> {unit} is under recall {task.code.recalls.join(", ")}.
        </>
      );
    case "none":
      return <>{unit} has no pairing code yet: it can’t enrol.</>;
    case "usable":
      return (
        <>
          {unit} has not enrolled yet. Its pairing code can be used until{" "}
          {dateTimeWords(task.code.until, zone)} ({agoWords(task.code.until, now)}).
        </>
      );
    case "expired":
      return (
        <>
          {unit} has not enrolled, and its pairing code expired on {dateTimeWords(task.code.at, zone)}.
        </>
      );
  }
}

export interface NextStep {
  readonly words: string;
  readonly href: string;
}

/** The one thing to do about it. */
export function nextStep(task: StoresTask): NextStep {
  switch (task.kind) {
    case "recall-outstanding":
      return { words: "Work its list", href: `/stores/recalls/${task.recall}` };
    case "recall-to-close":
      return { words: "Check and close", href: `/stores/recalls/${task.recall}` };
    case "visit":
      return { words: "Record the visit", href: `/stores/visits/${task.visit}` };
    case "no-access":
      return { words: "Plan another day", href: `/stores/loans/${task.loan}/${task.task}` };
    case "quiet":
      return { words: "Note the call", href: `/stores/loans/${task.loan}#note` };
    case "hand-out":
      if (task.code.state === "barred")
        return { words: "Plan a swap", href: `/stores/loans/${task.loan}/swap` };
      return task.code.state === "usable"
        ? { words: "See its code", href: `/stores/loans/${task.loan}/pairing-code` }
        : { words: "Issue its code", href: `/stores/loans/${task.loan}#pairing` };
    case "due-back":
      return { words: "Plan collection", href: `/stores/loans/${task.loan}/collection` };
    case "coming-back":
      return { words: "Book it in", href: `/stores/units/${task.unit}#move` };
  }
}
