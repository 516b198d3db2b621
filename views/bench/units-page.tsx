import { type ConditionLevel, conditions } from "../../server/domain/condition/condition.ts";
import { placeWords } from "../../server/domain/lifecycle/moves.ts";
import { type Place, places } from "../../server/domain/lifecycle/place.ts";
import type { Instant } from "../../server/domain/units.ts";
import { counted } from "../layout/counted.ts";
import { Field } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { Pager } from "../layout/pager.tsx";
import { agoWords, dateTimeWords } from "../layout/words.ts";
import type { BenchFrame } from "./frame.ts";
import { LevelTag } from "./level-tag.tsx";
import { levelWords } from "./words.ts";

interface UnitLine {
  readonly serial: string;
  readonly modelName: string;
  readonly size: string;
  readonly lotId: string;
  readonly place: Place;
  readonly level: ConditionLevel | null;
  readonly since: Instant | null;
  readonly assessedAt: Instant | null;
}

interface UnitsPageProps {
  readonly frame: BenchFrame;
  readonly units: readonly UnitLine[];
  readonly total: number;
  readonly page: number;
  readonly perPage: number;
  readonly query: { readonly level: string; readonly place: string; readonly text: string };
}

export function UnitsPage(props: UnitsPageProps) {
  const { frame, units, total, page, perPage, query } = props;
  return (
    <Page title="Units and their condition" {...frame}>
      <h1>Units and their condition</h1>
      <form class="filter" method="get" action="/bench/units">
        <Field label="Serial, lot or model" name="text" type="search" value={query.text} required={false} />
        <Field
          label="Condition"
          name="level"
          value={query.level}
          required={false}
          choices={[
            { value: "", words: "Any" },
            ...[...conditions].reverse().map((level) => ({ value: level, words: levelWords[level] })),
            { value: "not-assessed", words: "not looked at yet" },
          ]}
        />
        <Field
          label="Place"
          name="place"
          value={query.place}
          required={false}
          choices={[
            { value: "", words: "Anywhere" },
            ...places.map((place) => ({ value: place, words: placeWords[place] })),
          ]}
        />
        <button type="submit" class="quiet">
          Search
        </button>
      </form>
      {units.length === 0 ? <p class="empty">No unit matches.</p> : <UnitTable {...props} />}
      <Pager path="/bench/units" query={query} page={page} perPage={perPage} total={total} />
    </Page>
  );
}

function UnitTable({ frame, units, total }: UnitsPageProps) {
  return (
    <table class="ledger stacks">
      <caption>{counted(total, "unit")}, worst first</caption>
      <thead>
        <tr>
          <th scope="col">Serial</th>
          <th scope="col">Condition</th>
          <th scope="col">Since</th>
          <th scope="col">Place</th>
          <th scope="col">Model, size and lot</th>
          <th scope="col">Last looked at</th>
        </tr>
      </thead>
      <tbody>
        {units.map((unit) => (
          <tr>
            <th scope="row">
              <a href={`/bench/units/${unit.serial}`}>{unit.serial}</a>
            </th>
            <td data-label="Condition">
              <LevelTag level={unit.level} />
            </td>
            <td data-label="Since">{unit.since === null ? "–" : dateTimeWords(unit.since, frame.zone)}</td>
            <td data-label="Place">{placeWords[unit.place]}</td>
            <td data-label="Model, size and lot">
              {unit.modelName}, {unit.size}, {unit.lotId}
            </td>
            <td data-label="Last looked at">
              {unit.assessedAt === null ? "never" : agoWords(unit.assessedAt, frame.now)}
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
