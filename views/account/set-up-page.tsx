import { Field, Problems, type Problems as Wrong } from "../layout/forms.tsx";
import { Page, type PageProps } from "../layout/page.tsx";

interface SetUpProps {
  readonly frame: Omit<PageProps, "title">;
  /** The page's own address: the form goes back to it. */
  readonly address: string;
  /** Who was invited; null when the first administrator is being set up. */
  readonly invited: { readonly name: string; readonly login: string } | null;
  readonly typed?: { readonly login: string; readonly name: string };
  readonly problems?: Wrong;
  readonly shortest: number;
}

/** Where a one-time link leads. */
export function SetUpPage({ frame, address, invited, typed, problems, shortest }: SetUpProps) {
  const title = invited ? "Choose a password" : "Set up this console";
  return (
    <Page title={title} {...frame}>
      <h1>{title}</h1>
      <p class="sentence">
        {invited
          ? `Welcome, ${invited.name}. You will sign in as “${invited.login}”. This link works once.`
          : "You are making the first administrator’s account: the one that invites everyone else. This link works once."}
      </p>
      <form method="post" action={address} class="form">
        <Problems errors={problems} />
        {invited ? null : (
          <>
            <Field
              label="Sign-in name"
              name="login"
              hint="Small letters, digits, dots and hyphens."
              autocomplete="username"
              value={typed?.login}
              error={problems?.login}
            />
            <Field
              label="Your name"
              name="name"
              hint="As colleagues should see it."
              autocomplete="name"
              value={typed?.name}
              error={problems?.name}
            />
          </>
        )}
        <NewPassword problems={problems} shortest={shortest} />
        <button type="submit">{invited ? "Choose this password" : "Make the account"}</button>
      </form>
    </Page>
  );
}

export function NewPassword({ problems, shortest }: { problems: Wrong | undefined; shortest: number }) {
  return (
    <>
      <Field
        label="New password"
        name="password"
        type="password"
        autocomplete="new-password"
        hint={`At least ${shortest} characters; four or five unrelated words do well. Pasting is fine.`}
        error={problems?.password}
      />
      <Field
        label="The same again"
        name="passwordAgain"
        type="password"
        autocomplete="new-password"
        error={problems?.passwordAgain}
      />
    </>
  );
}

export function LinkNoLongerWorksPage({ frame }: { frame: Omit<PageProps, "title"> }) {
  return (
    <Page title="This link no longer works" {...frame}>
      <h1>This link no longer works</h1>
      <p class="sentence">
        It was used, it is older than a day, or a newer one took its place. Nothing was changed.
      </p>
      <p>
        An administrator of the programme can make a new one. For the very first administrator, a new link is
        printed each time the service starts.
      </p>
      <p>
        <a class="button quiet" href="/sign-in">
          Sign in
        </a>
      </p>
    </Page>
  );
}
