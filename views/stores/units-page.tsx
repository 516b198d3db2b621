import { placeWords } from "../../server/domain/lifecycle/moves.ts";
import { type Place, places } from "../../server/domain/lifecycle/place.ts";
import type { Instant } from "../../server/domain/units.ts";
import { counted } from "../layout/counted.ts";
import { Field } from "../layout/forms.tsx";
import { Page } from "../layout/page.tsx";
import { Pager } from "../layout/pager.tsx";
import { dateTimeWords } from "../layout/words.ts";
import type { StoresFrame } from "./frame.ts";

interface UnitLine {
  readonly serial: string;
  readonly modelName: string;
  readonly size: string;
  readonly lotId: string;
  readonly place: Place;
  readonly placeSince: Instant;
}

interface UnitsPageProps {
  readonly frame: StoresFrame;
  readonly stock: readonly {
    readonly modelName: string;
    readonly size: string;
    readonly place: Place;
    readonly count: number;
  }[];
  readonly units: readonly UnitLine[];
  readonly barred: ReadonlyMap<string, readonly string[]>;
  readonly total: number;
  readonly page: number;
  readonly perPage: number;
  readonly query: { readonly place: string; readonly text: string };
}

export function UnitsPage(props: UnitsPageProps) {
  const { frame, units, total, page, perPage, query } = props;
  return (
    <Page title="Units" {...frame}>
      <div class="heading-row">
        <h1>Units</h1>
        <a class="button" href="/stores/units/new">
          Add a unit
        </a>
      </div>
      <Stock {...props} />
      <section>
        <h2>Each unit</h2>
        <form class="filter" method="get" action="/stores/units">
          <Field label="Serial, lot or model" name="text" type="search" value={query.text} required={false} />
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
        <Pager path="/stores/units" query={query} page={page} perPage={perPage} total={total} />
      </section>
    </Page>
  );
}

/** One row a model and size, one column a place that holds any. */
function Stock({ stock }: UnitsPageProps) {
  if (stock.length === 0)
    return <p class="empty">No unit has been added yet. Add a model first, then its units.</p>;
  const used = places.filter((place) => stock.some((cell) => cell.place === place));
  const models = [...new Set(stock.map((cell) => `${cell.modelName}, ${cell.size}`))];
  const count = (name: string, place: Place) =>
    stock.find((cell) => `${cell.modelName}, ${cell.size}` === name && cell.place === place)?.count ?? 0;
  return (
    <section>
      <h2>Stock by place</h2>
      {/* It scrolls in itself where it is narrow, so the keyboard must reach it. */}
      <section class="wide" tabindex={0} aria-label="Stock by place">
        <table class="ledger stock">
          <thead>
            <tr>
              <th scope="col">Model and size</th>
              {used.map((place) => (
                <th scope="col" class="number">
                  {placeWords[place]}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {models.map((name) => (
              <tr>
                <th scope="row">{name}</th>
                {used.map((place) => (
                  <td class="number">{count(name, place)}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
    </section>
  );
}

function UnitTable({ frame, units, total, barred }: UnitsPageProps) {
  return (
    <table class="ledger stacks">
      <caption>{counted(total, "unit")}, by serial</caption>
      <thead>
        <tr>
          <th scope="col">Serial</th>
          <th scope="col">Model and size</th>
          <th scope="col">Lot</th>
          <th scope="col">Place</th>
          <th scope="col">Since</th>
        </tr>
      </thead>
      <tbody>
        {units.map((unit) => (
          <tr>
            <th scope="row">
              <a href={`/stores/units/${unit.serial}`}>{unit.serial}</a>
            </th>
            <td data-label="Model and size">
              {unit.modelName}, {unit.size}
            </td>
            <td data-label="Lot">{unit.lotId}</td>
            <td data-label="Place">
              {placeWords[unit.place]}
              {barred.has(unit.serial) ? (
                <span class="warning">
                  {" "}
                  <span aria-hidden="true">⚠</span> recall {barred.get(unit.serial)?.join(", ")}
                </span>
              ) : null}
            </td>
            <td data-label="Since">{dateTimeWords(unit.placeSince, frame.zone)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
