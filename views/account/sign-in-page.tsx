import type { Role } from "../../server/domain/access/roles.ts";
import { Field, Problems, type Problems as Wrong } from "../layout/forms.tsx";
import { Page, type PageProps } from "../layout/page.tsx";

export interface CastMember {
  readonly id: string;
  readonly name: string;
  readonly role: Role;
}

interface SignInProps {
  readonly frame: Omit<PageProps, "title">;
  readonly next: string;
  readonly login: string;
  readonly problems?: Wrong;
  /** In a demonstration only: who may be entered as. */
  readonly cast: readonly CastMember[];
}

const deskWords: Readonly<Record<Role, string>> = {
  coordinator: "At the Stores desk: what has to move today.",
  technician: "At the Bench: which units need hands, and in what order.",
  clinician: "At the Clinic: whose record has gone quiet, and whether that is the cushion or the person.",
  administrator: "Staff, assumptions and the audit log.",
};

export function SignInPage({ frame, next, login, problems, cast }: SignInProps) {
  return (
    <Page title="Sign in" {...frame}>
      <h1>Sign in</h1>
      {cast.length === 0 ? null : (
        <>
          <EnterAs cast={cast} next={next} />
          <h2>Or sign in with a password</h2>
        </>
      )}
      <form method="post" action="/sign-in" class="form">
        <Problems errors={problems} />
        <input type="hidden" name="next" value={next} />
        <Field label="Sign-in name" name="login" autocomplete="username" value={login} />
        <Field label="Password" name="password" type="password" autocomplete="current-password" />
        <button type="submit">Sign in</button>
      </form>
      <p class="soft">
        Forgotten the password? An administrator of the programme can make a one-time link with which to
        choose a new one.
      </p>
    </Page>
  );
}

function EnterAs({ cast, next }: { cast: readonly CastMember[]; next: string }) {
  return (
    <section aria-labelledby="cast">
      <h2 id="cast">Enter as one of the cast</h2>
      <p>This is a demonstration. Nobody here is real, and no password is asked.</p>
      <ul class="worklist cast">
        {cast.map(({ id, name, role }) => (
          <li>
            <div>
              <p class="sentence">
                <strong>{name}</strong>, {role}
              </p>
              <p class="since">{deskWords[role]}</p>
            </div>
            <form method="post" action="/sign-in/as" class="next">
              <input type="hidden" name="next" value={next} />
              <button type="submit" name="staff" value={id}>
                Enter as {name}
              </button>
            </form>
          </li>
        ))}
      </ul>
    </section>
  );
}
