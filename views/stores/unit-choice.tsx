import type { CandidateUnit, Match } from "../../server/domain/lifecycle/suitability.ts";
import { counted } from "../layout/counted.ts";

interface UnitChoiceProps {
  readonly legend: string;
  readonly name: string;
  readonly hint: string;
  readonly units: readonly CandidateUnit[];
  readonly chosen: string;
  readonly error?: string | undefined;
}

/** The units that suit, nearest first; the nearest is chosen until someone chooses another. */
export function UnitChoice({ legend, name, hint, units, chosen, error }: UnitChoiceProps) {
  const offered = units.some((unit) => unit.serial === chosen) ? chosen : units[0]?.serial;
  return (
    <fieldset class={error === undefined ? "field" : "field field-wrong"} id={`field-${name}`}>
      <legend>{legend}</legend>
      <p class="hint">{hint}</p>
      {error === undefined ? null : <p class="field-problem">✎ {error}</p>}
      {units.slice(0, 8).map((unit) => (
        <label class="choice">
          <input type="radio" name={name} value={unit.serial} checked={unit.serial === offered} required />
          <span>
            <b>{unit.serial}</b>, {describe(unit)}
            {unit.place === "reserved" ? " (put by)" : ""}
          </span>
        </label>
      ))}
      {units.length > 8 ? (
        <p class="hint">{counted(units.length - 8, "more unit")} would fit as well.</p>
      ) : null}
    </fieldset>
  );
}

const describe = (unit: CandidateUnit): string =>
  `${unit.modelName}: ${unit.width / 10} × ${unit.depth / 10} cm, up to ${unit.weightLimit} kg`;

/** Each unit in stock that can't go to this person, with every reason. */
export function UnitsThatDontSuit({ matches }: { matches: readonly Match[] }) {
  const unsuitable = matches.filter((match) => match.against.length > 0);
  if (unsuitable.length === 0) return null;
  return (
    <details open={unsuitable.length === matches.length}>
      <summary>
        {counted(unsuitable.length, "unit")} in stock that {unsuitable.length === 1 ? "doesn’t" : "don’t"}{" "}
        suit, and why
      </summary>
      <table class="ledger stacks">
        <thead>
          <tr>
            <th scope="col">Unit</th>
            <th scope="col">What it is</th>
            <th scope="col">Why not</th>
          </tr>
        </thead>
        <tbody>
          {unsuitable.map(({ unit, against }) => (
            <tr>
              <th scope="row" class="ref">
                {unit.serial}
              </th>
              <td>{describe(unit)}</td>
              <td>{against.map((reason) => reason.sentence).join(" ")}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}
