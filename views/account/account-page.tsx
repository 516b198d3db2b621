import { CsrfField, Field, Problems, type Problems as Wrong } from "../layout/forms.tsx";
import { Page, type PageProps, type Reader } from "../layout/page.tsx";
import { NewPassword } from "./set-up-page.tsx";

interface AccountProps {
  readonly frame: Omit<PageProps, "title"> & { readonly signedIn: Reader };
  readonly login: string;
  readonly hasPassword: boolean;
  readonly changed: boolean;
  readonly problems?: Wrong;
  readonly shortest: number;
}

/** One's own account. */
export function AccountPage({ frame, login, hasPassword, changed, problems, shortest }: AccountProps) {
  const { signedIn } = frame;
  return (
    <Page title="Your account" path="/account" {...frame}>
      <h1>Your account</h1>
      {changed ? (
        <p class="told" role="status">
          Your password was changed, and every other place you were signed in has been signed out.
        </p>
      ) : null}
      <dl class="facts">
        <dt>Name</dt>
        <dd>{signedIn.staff.name}</dd>
        <dt>Sign-in name</dt>
        <dd>{login}</dd>
        <dt>Role</dt>
        <dd>{signedIn.staff.role}</dd>
      </dl>
      <section aria-labelledby="password">
        <h2 id="password">Change your password</h2>
        {hasPassword ? (
          <form method="post" action="/account/password" class="form">
            <Problems errors={problems} />
            <CsrfField signedIn={signedIn} />
            <input type="hidden" name="username" autocomplete="username" value={login} />
            <Field
              label="Current password"
              name="currentPassword"
              type="password"
              autocomplete="current-password"
              error={problems?.currentPassword}
            />
            <NewPassword problems={problems} shortest={shortest} />
            <button type="submit">Change it, and sign out everywhere else</button>
          </form>
        ) : (
          <p>This account has no password: it is entered from the sign-in page of the demonstration.</p>
        )}
      </section>
      <section aria-labelledby="everywhere">
        <h2 id="everywhere">Signed in somewhere you shouldn’t be?</h2>
        <form method="post" action="/account/sign-out-everywhere">
          <CsrfField signedIn={signedIn} />
          <button type="submit" class="quiet">
            Sign out everywhere, here too
          </button>
        </form>
      </section>
    </Page>
  );
}
