import { type Figure, figures } from "../../views/clinic/figures.ts";
import { type LedgerLine, LinesPage } from "../../views/clinic/lines-page.tsx";
import { counted } from "../../views/layout/counted.ts";
import { hoursWords } from "../../views/layout/words.ts";
import { borrowerId } from "../domain/ids.ts";
import { localDayOf } from "../domain/time/local-day.ts";
import type { Services } from "../services.ts";
import { borrowerOfClinician, loansOfPerson } from "../store/clinic-people.ts";
import { reliefPlansOf } from "../store/relief-plans.ts";
import { clinicFrame, clinicianOf } from "./clinic-frame.ts";
import { ledgerLines } from "./clinic-lines.ts";
import { rangeAsked, sinceLent } from "./clinic-range.ts";
import { type PersonDays, personDays } from "./clinic-ribbon.ts";
import { settingsOn } from "./clinic-settings.ts";
import { stretchFinder } from "./clinic-stretch-at.ts";
import { knownOnAsked } from "./known-on.ts";
import type { AppContext, Route } from "./route.ts";

const perPage = 300;

/** The lines behind each figure of a person's page. */
export const linesRoute = (services: Services): Route => ({
  method: "GET",
  path: "/clinic/people/:id/lines",
  needs: "see-own-people",
  handle: (context) => showLines(services, context),
});

async function showLines(services: Services, context: AppContext) {
  const { db, zone } = services;
  const person = borrowerOfClinician(db, clinicianOf(context), borrowerId(context.req.param("id") ?? ""));
  if (!person) return context.notFound();
  const known = knownOnAsked(services, context);
  const loans = loansOfPerson(db, person.id, known?.end ?? null);
  const range = sinceLent(rangeAsked(services, context, known), loans, services);
  const all = await personDays(services, person.id, loans, range, known);
  const only = loans.find(({ id }) => id === context.req.query("loan")) ?? null;
  const kept = new Set((only === null ? loans : [only]).map(({ id }) => id));
  const told = ofLoans(all, kept);
  const figure = figures.find((one) => one === context.req.query("figure")) ?? "due";
  const serials = new Map(loans.map(({ id, unitSerial }) => [id, unitSerial]));
  const lines = ledgerLines({
    figure,
    told,
    settings: settingsOn(services, known),
    unitOf: (loan) => serials.get(loan) ?? "",
    dayOf: (at) => localDayOf(at, zone),
    explained: { zone, plans: reliefPlansOf(db, person.id), stretchAt: stretchFinder(told.stretches) },
  });
  const page = pageAsked(context, lines.length);
  return context.html(
    <LinesPage
      frame={clinicFrame(services, context, `/clinic/people/${person.id}`)}
      person={person}
      figure={figure}
      only={only === null ? null : { loan: only.id, unit: only.unitSerial }}
      first={range.first}
      last={range.last}
      sum={sumWords(figure, lines)}
      lines={lines.slice((page - 1) * perPage, page * perPage)}
      page={page}
      perPage={perPage}
      total={lines.length}
      back={`/clinic/people/${person.id}?${new URLSearchParams({ from: range.first, to: range.last })}`}
    />,
  );
}

const ofLoans = (
  told: PersonDays,
  kept: ReadonlySet<PersonDays["ledger"][number]["loanId"]>,
): PersonDays => ({
  ...told,
  ledger: told.ledger.filter(({ loanId }) => kept.has(loanId)),
  reliefs: new Map([...told.reliefs].filter(([loan]) => kept.has(loan))),
});

function pageAsked(context: AppContext, total: number): number {
  const page = Number(context.req.query("page"));
  return Number.isInteger(page) && page >= 1 && (page - 1) * perPage < total ? page : 1;
}

/** What the lines come to, to be held against the figure. */
function sumWords(figure: Figure, lines: readonly LedgerLine[]): string {
  const lasted = lines.reduce(
    (sum, { at, until }) => sum + (at === null || until === null ? 0 : until - at),
    0,
  );
  switch (figure) {
    case "due":
    case "met":
    case "missed":
    case "untold":
      return `${counted(lines.length, "line")} for as many reliefs that fell due`;
    case "reliefs":
    case "left":
    case "right":
      return `${counted(lines.length, "line")} for as many reliefs seen`;
    case "days":
      return `${lines.filter(({ counts }) => counts).length} of ${counted(lines.length, "day")} count`;
    case "seated":
    case "unknown":
    case "longest":
      return `${counted(lines.length, "line")}, together ${hoursWords(lasted)}`;
  }
}
