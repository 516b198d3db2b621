import { Caution } from "../layout/caution.tsx";
import { Choices, CsrfField, Field, Problems, type Typed, typedList, typedText } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import type { StoresFrame } from "./frame.ts";

interface RecallNewPageProps {
  readonly frame: StoresFrame;
  readonly lots: readonly string[];
  readonly firmwares: readonly string[];
  readonly problems?: Problems;
  readonly typed?: Typed;
}

export function RecallNewPage({ frame, lots, firmwares, problems, typed }: RecallNewPageProps) {
  return (
    <Page title="Open a recall" {...frame}>
      <h1>Open a recall</h1>
      <p>
        It finds every unit of a lot or firmware wherever it is: lent, in stock, on the bench, retired or
        missing, with everyone it was ever lent to. From then on none of them can be issued.
      </p>
      <Problems errors={problems} />
      <form class="form" method="post" action="/stores/recalls/new">
        <CsrfField signedIn={frame.signedIn} />
        <Field
          label="What it is about"
          name="title"
          hint="As the notice puts it, in a few words."
          value={typedText(typed, "title")}
          error={problems?.title}
        />
        <Choices
          legend="What it takes back"
          name="criterion"
          kind="radio"
          chosen={typedList(typed, "criterion")}
          error={problems?.criterion}
          choices={[
            { value: "lot", words: "A lot" },
            { value: "firmware", words: "A firmware" },
          ]}
        />
        <Field
          label="Lot or firmware"
          name="value"
          hint={knownWords(lots, firmwares)}
          value={typedText(typed, "value")}
          error={problems?.value}
        />
        <Field
          label="What a borrower is to do now"
          name="advice"
          rows={3}
          hint="The risk first, then what to do. It is read out on the phone."
          value={typedText(typed, "advice")}
          error={problems?.advice}
        />
        <Caution>
          “Stop using it” always travels with a substitute surface: never take a cushion away without an
          equivalent one in place. Tell the prescriber. The maker’s notice and the local incident procedure
          come first.
        </Caution>
        <button type="submit">Open the recall</button>
      </form>
    </Page>
  );
}

function knownWords(lots: readonly string[], firmwares: readonly string[]): string {
  const some = (words: readonly string[]) => words.slice(0, 8).join(", ");
  const parts = [
    lots.length === 0 ? "" : `Known lots: ${some(lots)}.`,
    firmwares.length === 0
      ? "No unit has reported its firmware yet."
      : `Firmware reported: ${some(firmwares)}.`,
  ];
  return parts.filter((part) => part !== "").join(" ");
}
