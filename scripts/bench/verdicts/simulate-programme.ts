import { millisecondsIn } from "../../../server/domain/units.ts";
import type { GapContext } from "../../../server/domain/verdicts/gap-context.ts";
import { silentTogether } from "../../../server/domain/verdicts/silent-together.ts";
import { Draws, seedOf } from "./chance.ts";
import { type GapCase, gapCasesOf, type LiveGap, liveGapsOf } from "./gap-cases.ts";
import { atMinute, epoch, recordOf, wholeReliefsOf } from "./record-of.ts";
import { plansOf, review, wholeReview } from "./review-person.ts";
import { simulatePerson } from "./simulate-person.ts";
import { type ThinCase, thinCasesOf } from "./thin-cases.ts";
import { sharedTroubles } from "./troubles.ts";
import { type PersonWeek, weeksOf } from "./weeks.ts";
import type { World } from "./world.ts";

export interface ProgrammeSize {
  readonly seed: number;
  readonly people: number;
  readonly days: number;
  readonly areas: number;
}

export interface JudgeableGap extends Omit<GapCase, "context"> {
  readonly context: GapContext;
}

export interface SimulatedProgramme {
  readonly gaps: readonly JudgeableGap[];
  readonly thin: readonly ThinCase[];
  readonly weeks: readonly PersonWeek[];
}

/** Everybody's days, one person's record in hand at a time; what the others' silences say is added at the end. */
export function simulateProgramme(world: World, size: ProgrammeSize): SimulatedProgramme {
  const shared = sharedTroubles(new Draws(seedOf(size.seed, 1)), world, size.days, size.areas);
  const gaps: GapCase[] = [];
  const thin: ThinCase[] = [];
  const weeks: PersonWeek[] = [];
  const live: Home[] = [];
  for (let index = 0; index < size.people; index += 1) {
    const one = simulatePerson(world, size, shared, index);
    const record = recordOf(one.noise, one.person, one.life, one.sitting, one.delivery);
    const plans = plansOf(one.sitting);
    const reviewed = review(record, plans, size.days);
    const own = liveGapsOf(one);
    live.push({ area: one.person.area, gaps: own });
    gaps.push(...gapCasesOf(index, one, record, reviewed, own));
    thin.push(...thinCasesOf(index, one, record, reviewed));
    const whole = wholeReview(one.life, wholeReliefsOf(one.sitting), plans, size.days);
    weeks.push(...weeksOf(index, reviewed, whole));
  }
  return { gaps: gaps.map((gap) => ({ ...gap, context: withOthers(gap, live) })), thin, weeks };
}

interface Home {
  readonly area: number;
  readonly gaps: readonly LiveGap[];
}

function withOthers({ context, person }: GapCase, live: readonly Home[]): GapContext {
  const { span, ongoing } = context;
  const minute = (at: number) => (at - epoch) / millisecondsIn.minute;
  const now = minute(span.end);
  const start = minute(span.start);
  const others = live.flatMap(({ area, gaps }, index) => {
    if (index === person) return [];
    const near = gaps.filter(
      (gap) => gap.start < start + 60 && gap.end > start - 60 && (!ongoing || gap.start + 20 < now),
    );
    const silentNow = ongoing ? gaps.find((gap) => gap.start <= now && gap.end > now) : undefined;
    return [
      {
        near: area === live[person]?.area,
        gaps: near.map((gap) => ({
          start: atMinute(gap.start),
          end: gap.goesOn || (ongoing && gap.end > now) ? null : atMinute(gap.end),
        })),
        lastRecorded: ongoing ? atMinute(silentNow?.start ?? now) : null,
      },
    ];
  });
  return { ...context, together: silentTogether(span, ongoing, others) };
}
