import type { IncidentLine } from "../../server/domain/incidents/incident-line.ts";
import { scopeWords } from "../../server/domain/incidents/silence-scopes.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { dateTimeWords, durationWords } from "./words.ts";

/** One line for many silent units, above a desk's list. */
export function IncidentLines({ lines, zone }: { lines: readonly IncidentLine[]; zone: ZoneName }) {
  if (lines.length === 0) return null;
  return (
    <section class="told incidents">
      <h2>Silent together</h2>
      <ul class="history plain">
        {lines.map((line) => (
          <li>
            {incidentSentence(line, zone)} <a href={`/incidents/${line.id}`}>See the incident</a>
          </li>
        ))}
      </ul>
    </section>
  );
}

export function incidentSentence(line: IncidentLine, zone: ZoneName): string {
  const who = `${line.silent} of ${line.expected} units fell silent together ${scopeWords(line.scope)}`;
  const own =
    line.own === null
      ? ""
      : `, ${line.own === 1 ? "one of your people" : `${line.own} of your people`} among them`;
  const since = dateTimeWords(line.start, zone);
  return line.end === null
    ? `${who} on ${since}${own}; ${line.back === 0 ? "none" : line.back} back so far. Nobody needs to be asked about it by themselves.`
    : `${who} on ${since}${own}, for ${durationWords(line.end - line.start)}. It is over; what is still missing has been judged again.`;
}
