import { type CaseEntries, type Manifest, manifestFile } from "./manifest.ts";
import type { Problem } from "./problem.ts";

/** Leaves out what names something that isn't there, or is there already, each with its problem; then what named that,
 *  and so on down. */
export function withKnownReferences(manifest: Manifest): { manifest: Manifest; problems: Problem[] } {
  const problems: Problem[] = [];
  const models = unique("models", manifest.models, ({ id }) => id, problems);
  const people = unique("people", manifest.people, ({ id }) => id, problems);
  const has = (list: readonly { readonly id: string }[], id: string) => list.some((one) => one.id === id);
  const units = unique("units", manifest.units, ({ serial }) => serial, problems).filter((unit) =>
    known(has(models, unit.model), "units", unit.serial, `model ${unit.model}`, problems),
  );
  const loans = unique("loans", manifest.loans, ({ id }) => id, problems)
    .filter(({ id, unit }) =>
      known(
        units.some(({ serial }) => serial === unit),
        "loans",
        id,
        `unit ${unit}`,
        problems,
      ),
    )
    .filter(({ id, person }) => known(has(people, person), "loans", id, `person ${person}`, problems));
  const ofLoan = <Entry extends { readonly loan: string }>(key: keyof CaseEntries, list: readonly Entry[]) =>
    list.filter(({ loan }, index) =>
      known(has(loans, loan), key, `entry ${index + 1}`, `loan ${loan}`, problems),
    );
  const plans = unique(
    "plans",
    manifest.plans,
    ({ person, version }) => `${person} version ${version}`,
    problems,
  ).filter(({ person, version }) =>
    known(has(people, person), "plans", `version ${version}`, `person ${person}`, problems),
  );
  return {
    manifest: {
      ...manifest,
      models,
      people,
      units,
      loans: withoutOverlap(loans, problems),
      plans,
      notes: ofLoan("notes", manifest.notes),
      visits: ofLoan("visits", manifest.visits),
      certificates: ofLoan("certificates", manifest.certificates),
    },
    problems,
  };
}

const told = (field: string, problem: string): Problem => ({
  file: manifestFile,
  line: null,
  field,
  problem,
});

function unique<Entry>(
  key: keyof CaseEntries,
  entries: readonly Entry[],
  nameOf: (entry: Entry) => string,
  problems: Problem[],
): Entry[] {
  const names = new Set<string>();
  return entries.filter((entry) => {
    const name = nameOf(entry);
    if (names.has(name)) problems.push(told(key, `${name} is there twice; the first is used`));
    else {
      names.add(name);
      return true;
    }
    return false;
  });
}

function known(
  is: boolean,
  key: keyof CaseEntries,
  name: string,
  wanted: string,
  problems: Problem[],
): boolean {
  if (!is) problems.push(told(key, `${name}: there is no ${wanted}; left out`));
  return is;
}

/** A unit is on one loan at a time. */
function withoutOverlap(loans: Manifest["loans"], problems: Problem[]): Manifest["loans"] {
  const kept: Manifest["loans"][number][] = [];
  for (const loan of loans) {
    const end = loan.endedAt ?? Number.POSITIVE_INFINITY;
    const other = kept.find(
      (one) =>
        one.unit === loan.unit &&
        one.startedAt < end &&
        loan.startedAt < (one.endedAt ?? Number.POSITIVE_INFINITY),
    );
    if (loan.startedAt >= end)
      problems.push(told("loans", `${loan.id} ends no later than it starts; left out`));
    else if (other)
      problems.push(told("loans", `${loan.id}: ${loan.unit} is on ${other.id} at that time; left out`));
    else kept.push(loan);
  }
  return kept;
}
