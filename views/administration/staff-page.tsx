import type { Role } from "../../server/domain/access/roles.ts";
import type { Instant } from "../../server/domain/units.ts";
import {
  CsrfField,
  Field,
  Problems,
  type Typed,
  typedText,
  type Problems as Wrong,
} from "../layout/forms.tsx";
import { Page, type PageProps, type Reader } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";

export interface StaffLine {
  readonly id: string;
  readonly name: string;
  readonly login: string;
  readonly role: Role;
  readonly disabledAt: Instant | null;
  readonly hasPassword: boolean;
  readonly self: boolean;
}

interface StaffProps {
  readonly frame: Omit<PageProps, "title"> & { readonly signedIn: Reader };
  readonly lines: readonly StaffLine[];
  readonly told?: string;
  readonly problems?: Wrong;
  readonly typed?: Typed;
}

const roleChoices = [
  { value: "coordinator", words: "Coordinator: the Stores desk" },
  { value: "technician", words: "Technician: the Bench" },
  { value: "clinician", words: "Clinician: the Clinic" },
  { value: "administrator", words: "Administrator: staff, assumptions, audit" },
];

export function StaffPage({ frame, lines, told, problems, typed }: StaffProps) {
  return (
    <Page title="Staff" path="/staff" {...frame}>
      <h1>Staff</h1>
      <p class="lead">
        Each role sees its own desk only: the technician sees units and no names, the coordinator loans and no
        reliefs, the clinician their own people.
      </p>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <div class="wide">
        <table class="ledger stacks">
          <caption>Everyone who can sign in, or could</caption>
          <thead>
            <tr>
              <th scope="col">Name</th>
              <th scope="col">Sign-in name</th>
              <th scope="col">Role</th>
              <th scope="col">Account</th>
              <th scope="col">
                <span class="seen-by-readers-only">Next step</span>
              </th>
            </tr>
          </thead>
          <tbody>
            {lines.map((line) => (
              <StaffRow line={line} frame={frame} />
            ))}
          </tbody>
        </table>
      </div>
      <section aria-labelledby="invite">
        <h2 id="invite">Invite someone</h2>
        <form method="post" action="/staff" class="form">
          <Problems errors={problems} />
          <CsrfField signedIn={frame.signedIn} />
          <Field label="Name" name="name" value={typedText(typed, "name")} error={problems?.name} />
          <Field
            label="Sign-in name"
            name="login"
            hint="Small letters, digits, dots and hyphens."
            value={typedText(typed, "login")}
            error={problems?.login}
          />
          <Field
            label="Role"
            name="role"
            choices={roleChoices}
            value={typedText(typed, "role")}
            error={problems?.role}
          />
          <button type="submit">Make a one-time link</button>
        </form>
      </section>
    </Page>
  );
}

function StaffRow({ line, frame }: { line: StaffLine; frame: StaffProps["frame"] }) {
  return (
    <tr>
      <th scope="row">{line.name}</th>
      <td data-label="Sign-in name">{line.login}</td>
      <td data-label="Role">{line.role}</td>
      <td data-label="Account">{accountWords(line, frame)}</td>
      <td>
        {line.self ? (
          "You"
        ) : (
          <div class="actions">
            {line.disabledAt === null ? (
              <>
                <OneButton frame={frame} action={`/staff/${line.id}/invite`} words="New link" of={line} />
                <OneButton frame={frame} action={`/staff/${line.id}/disable`} words="Close" of={line} grave />
              </>
            ) : (
              <OneButton frame={frame} action={`/staff/${line.id}/enable`} words="Open again" of={line} />
            )}
          </div>
        )}
      </td>
    </tr>
  );
}

function accountWords(line: StaffLine, frame: StaffProps["frame"]): string {
  if (line.disabledAt !== null) return `closed on ${dateTimeWords(line.disabledAt, frame.zone)}`;
  return line.hasPassword ? "open" : "waiting for the link to be used";
}

function OneButton(props: {
  frame: StaffProps["frame"];
  action: string;
  words: string;
  of: StaffLine;
  grave?: boolean;
}) {
  return (
    <form method="post" action={props.action}>
      <CsrfField signedIn={props.frame.signedIn} />
      <button type="submit" class={props.grave ? "grave" : "quiet"}>
        {props.words}
        <span class="seen-by-readers-only"> for {props.of.name}</span>
      </button>
    </form>
  );
}

/** Shown once: only the link's digest is kept. */
export function LinkPage(props: { frame: StaffProps["frame"]; name: string; link: string; until: Instant }) {
  const { frame, name, link, until } = props;
  return (
    <Page title="A one-time link" path="/staff" {...frame}>
      <h1>A one-time link for {name}</h1>
      <p class="sentence">
        Hand this over in person or by a way you trust. It works once, until{" "}
        {dateTimeWords(until, frame.zone)}, and it can’t be shown again.
      </p>
      <p class="handed-over mono">{link}</p>
      <p>
        Whoever opens it first chooses the password. If it goes astray, make a new one: this one then stops
        working.
      </p>
      <p>
        <a class="button quiet" href="/staff">
          Back to staff
        </a>
      </p>
    </Page>
  );
}
