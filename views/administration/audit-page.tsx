import type { Instant } from "../../server/domain/units.ts";
import { Page, type PageProps, type Reader } from "../layout/page.tsx";
import { dateTimeWords } from "../layout/words.ts";

export interface AuditLine {
  readonly id: number;
  readonly at: Instant;
  readonly who: string;
  readonly action: string;
  readonly subject: string;
  readonly detail: Readonly<Record<string, unknown>>;
}

interface AuditProps {
  readonly frame: Omit<PageProps, "title"> & { readonly signedIn: Reader };
  readonly lines: readonly AuditLine[];
  readonly subject?: string | undefined;
  /** Address of the next, older page. */
  readonly older: string | null;
  readonly checked: ChainCheck | null;
}

/** `brokenAt`: the first row that doesn't follow from the one before it. */
export interface ChainCheck {
  readonly rows: number;
  readonly brokenAt: number | null;
}

export function AuditPage({ frame, lines, subject, older, checked }: AuditProps) {
  return (
    <Page title="Audit" path="/audit" {...frame}>
      <h1>Audit</h1>
      <p class="lead">
        Every decision and every refusal, newest first. Each row is sealed with the one before it, so that a
        row changed or taken out later shows.
      </p>
      {checked ? <Checked check={checked} /> : null}
      <p>
        <a class="button quiet" href="/audit/check">
          Check the whole chain now
        </a>
      </p>
      {subject === undefined ? null : (
        <p>
          Only what concerns <code>{subject}</code>. <a href="/audit">Show everything</a>
        </p>
      )}
      {lines.length === 0 ? (
        <p class="empty">Nothing is recorded here yet.</p>
      ) : (
        <div class="wide">
          <table class="ledger stacks">
            <caption>Audit rows</caption>
            <thead>
              <tr>
                <th scope="col">When</th>
                <th scope="col">Who</th>
                <th scope="col">What</th>
                <th scope="col">About</th>
                <th scope="col">Detail</th>
                <th scope="col" class="number">
                  Row
                </th>
              </tr>
            </thead>
            <tbody>
              {lines.map((line) => (
                <tr>
                  <td data-label="When">{dateTimeWords(line.at, frame.zone)}</td>
                  <td data-label="Who">{line.who}</td>
                  <td data-label="What">{line.action.replaceAll("-", " ")}</td>
                  <td data-label="About">
                    <a href={`/audit?subject=${encodeURIComponent(line.subject)}`}>{line.subject}</a>
                  </td>
                  <td data-label="Detail">{detailWords(line.detail)}</td>
                  <td data-label="Row" class="number">
                    {line.id}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {older === null ? null : (
        <nav class="pager" aria-label="Pages">
          <a href="/audit">Newest</a>
          <a href={older}>Older rows</a>
        </nav>
      )}
    </Page>
  );
}

function Checked({ check }: { check: ChainCheck }) {
  if (check.brokenAt === null) {
    return (
      <p class="told" role="status">
        Checked just now: all {check.rows} rows follow from one another.
      </p>
    );
  }
  return (
    <p class="caution" role="alert">
      <strong class="caution-word">
        <span aria-hidden="true">⚠ </span>The chain is broken
      </strong>{" "}
      at row {check.brokenAt}: it, or the row before it, was changed or removed after it was written. Keep the
      data folder as it is and compare it with a backup.
    </p>
  );
}

const detailWords = (detail: Readonly<Record<string, unknown>>): string =>
  Object.entries(detail)
    .map(([name, value]) => `${name}: ${typeof value === "string" ? value : JSON.stringify(value)}`)
    .join("; ");
