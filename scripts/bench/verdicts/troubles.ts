import type { GapTruth } from "./causes-in-truth.ts";
import type { Draws } from "./chance.ts";
import type { Person } from "./person.ts";
import type { World } from "./world.ts";

/** Something that happens from one minute to another. */
export interface Episode {
  readonly from: number;
  readonly to: number;
  readonly cause: GapTruth;
}

export interface Note {
  readonly kind: "hospital" | "holiday" | "washed-cover" | "visit" | "new-chair";
  readonly from: number;
  readonly to: number;
}

/** What keeps messages from arriving; what keeps the unit off; what keeps the person away. */
export interface Troubles {
  readonly link: readonly Episode[];
  /** Messages vanish on the way although the unit was told they were taken. */
  readonly drops: readonly Episode[];
  readonly off: readonly Episode[];
  readonly away: readonly (Episode & { readonly switchesOff: boolean })[];
  readonly notes: readonly Note[];
  readonly fadesFrom: number | null;
  readonly fadesTo: number;
  /** A worn cell, like a bad charger, is noticed one day and the unit mended. */
  readonly mendedAt: number;
  readonly chargerFault: boolean;
  readonly badElectronics: boolean;
}

const hour = 60;
const day = 1440;

/** Outages that several homes share. */
export function sharedTroubles(draws: Draws, world: World, days: number, areas: number) {
  const scale = days / 90;
  const programme = episodes(draws, world.programmeOutages * scale, days, () => ({
    length: draws.lengthy(1.3 * hour, 0.7),
    cause: "programme-link",
  }));
  const byArea = Array.from({ length: areas }, () =>
    episodes(draws, world.areaOutages * scale, days, () => ({
      length: draws.lengthy(3 * hour, 0.8),
      cause: "area-outage",
    })),
  );
  const expires = draws.is(world.certificateBatches * scale) ? draws.whole(5, days - 3) * day : null;
  return { programme, byArea, expires };
}
export type SharedTroubles = ReturnType<typeof sharedTroubles>;

export function drawTroubles(
  draws: Draws,
  world: World,
  person: Person,
  shared: SharedTroubles,
  days: number,
): Troubles {
  const scale = days / 90;
  const of = (rate: number, cause: GapTruth, length: () => number) =>
    episodes(draws, rate * scale, days, () => ({ length: length(), cause }));
  const inArea = (shared.byArea[person.area] ?? []).filter(() => draws.is(0.85));
  const inBatch = shared.expires !== null && draws.is(0.2);
  const expired: Episode[] =
    inBatch && shared.expires !== null
      ? [{ from: shared.expires, to: shared.expires + draws.lengthy(1.5 * day, 0.6), cause: "certificate" }]
      : [];
  const badElectronics = draws.is(world.badElectronics);
  const fadesFrom = draws.is(world.fadedCells) ? draws.between(-30, days) * day : null;
  const away = [
    ...of(world.hospitalStays, "away", () => draws.lengthy(draws.is(0.4) ? 20 * day : 3 * day, 0.6)),
    ...of(world.holidaysWithout, "away", () => draws.whole(3, 14) * day),
  ];
  const hospital = new Set(away.filter(() => draws.is(0.45)));
  const chosen = of(world.choices, "chose-to-stop", () => draws.lengthy(8 * day, 0.7));
  const washes = of(0.6, "switched-off", () => draws.lengthy(7 * hour, 0.5));
  return {
    link: [
      ...shared.programme,
      ...inArea,
      ...expired,
      ...of(world.homeLinkFailures, "home-link", () => draws.lengthy(world.homeLinkMedianHours * hour, 1.1)),
      ...of(world.blindRelays, "home-link", () => draws.lengthy(2.5 * day, 0.7)),
      ...of(world.outingsPerDay * 90, "out-of-reach", () => draws.lengthy(2.5 * hour, 0.6)),
      ...of(world.holidaysWithCushion, "out-of-reach", () => draws.whole(2, 10) * day),
    ],
    drops: of(world.relayDrops, "home-link", () => draws.lengthy(1.5 * hour, 0.8)),
    off: [
      ...of(world.switchedOff, "switched-off", () => draws.lengthy(6 * hour, 0.9)),
      ...washes,
      ...nightsOff(draws, person, days),
      ...(badElectronics ? of(4, "electronics", () => draws.lengthy(2 * hour, 1)) : []),
      ...of(0.03, "electronics", () => draws.lengthy(2 * hour, 1)),
    ],
    away: [
      ...away.map((one) => ({ ...one, switchesOff: draws.is(0.3) })),
      ...chosen.map((one) => ({ ...one, switchesOff: draws.is(0.8) })),
    ],
    notes: [
      ...notesOf(draws, world, away, (one) => (hospital.has(one) ? "hospital" : "holiday")),
      ...notesOf(draws, world, washes, () => "washed-cover"),
      ...of(world.notesWrong, "none", () => draws.whole(1, 8) * day).map(
        ({ from, to }): Note => ({
          kind: draws.one<Note["kind"]>("hospital", "holiday", "holiday", "visit"),
          from,
          to,
        }),
      ),
      ...of(0.5, "none", () => hour).map(({ from }) => ({ kind: "visit" as const, from, to: from + 1 })),
    ],
    fadesFrom,
    fadesTo: draws.between(0.12, 0.45),
    mendedAt: (fadesFrom ?? 0) + draws.lengthy(45, 0.4) * day,
    chargerFault: draws.is(world.chargerFaults),
    badElectronics,
  };
}

/** A habit that looks like a fault: off on some nights. */
const nightsOff = (draws: Draws, person: Person, days: number): Episode[] =>
  !person.switchesOffAtNight
    ? []
    : Array.from({ length: days }, (_, at): Episode => {
        const from = at * day + person.toBed + 20;
        return { from, to: from + draws.normal(9 * hour, 30), cause: "switched-off" };
      }).filter(() => draws.is(0.12));

function notesOf(
  draws: Draws,
  world: World,
  about: readonly Episode[],
  kindOf: (episode: Episode) => Note["kind"],
): Note[] {
  return about
    .filter(() => draws.is(world.notesWritten))
    .map((episode) => {
      // Told afterwards, people are often a day or two out.
      const off = draws.is(0.25) ? draws.normal(0, 1.2 * day) : 0;
      return { kind: kindOf(episode), from: episode.from + off, to: episode.to + off };
    });
}

function episodes(
  draws: Draws,
  mean: number,
  days: number,
  draw: () => { length: number; cause: GapTruth },
): Episode[] {
  return Array.from({ length: draws.count(mean) }, () => {
    const from = Math.floor(draws.between(0, days * day));
    const { length, cause } = draw();
    // Outings and stays begin by day.
    const byDay =
      cause === "out-of-reach" ? Math.floor(from / day) * day + draws.between(9, 17) * hour : from;
    return { from: Math.floor(byDay), to: Math.floor(byDay + Math.max(5, length)), cause };
  }).sort((a, b) => a.from - b.from);
}
