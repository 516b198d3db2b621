import { type Instant, instant, millisecondsIn } from "../units.ts";
import type { Forgetting } from "./forgetting.ts";
import type { BenchModel, StepsTaken } from "./judge-step.ts";
import { standingOf } from "./outcome.ts";
import type { BenchOutcome } from "./session.ts";
import { type StepId, stepIds } from "./steps.ts";

/** What a bench certificate says; all of it is signed. No word about any person.
 *  Short names, because it is a JWS payload: `jti` the verify code, `sub` the unit, `iat` seconds since 1970. */
export interface CertificateContent {
  readonly jti: string;
  readonly sub: string;
  readonly iat: number;
  readonly session: string;
  readonly model: string;
  readonly lot: string;
  readonly outcome: BenchOutcome;
  readonly began: number;
  readonly grid: readonly [rows: number, columns: number];
  readonly masked: readonly number[];
  readonly temperature: number | null;
  readonly equipment: readonly string[];
  /** When it said that it forgot its last loan; null: it never had one, or the certificate is older than this line. */
  readonly forgot: number | null;
  readonly results: readonly CertifiedLine[];
  readonly decisionRule: string;
}

export interface CertifiedLine {
  readonly step: StepId;
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  /** Expanded, 95 %. */
  readonly expanded: number;
  readonly k: number;
  readonly low: number | null;
  readonly high: number | null;
  readonly decision: string;
}

export const decisionRule =
  "Pass only where the reading with its whole expanded uncertainty (95 %) lies within the limits.";

interface Certified {
  readonly code: string;
  readonly session: string;
  readonly unit: { readonly serial: string; readonly model: string; readonly lot: string };
  readonly outcome: BenchOutcome;
  readonly grid: BenchModel;
  readonly startedAt: Instant;
  readonly at: Instant;
  readonly taken: StepsTaken;
  readonly forgetting: Forgetting;
}

const inSeconds = (at: Instant): number => Math.floor(at / millisecondsIn.second);
const rounded = (value: number): number => Number(value.toPrecision(4));

export function certificateContent(of: Certified): CertificateContent {
  const { taken } = of;
  const readings = stepIds.flatMap((id) => taken.get(id)?.readings ?? []);
  const equipment = new Set(readings.flatMap(({ reference }) => reference?.equipment ?? []));
  const temperature = taken.get("empty-map")?.readings[0]?.temperature ?? null;
  return {
    jti: of.code,
    sub: of.unit.serial,
    iat: inSeconds(of.at),
    session: of.session,
    model: of.unit.model,
    lot: of.unit.lot,
    outcome: of.outcome,
    began: inSeconds(of.startedAt),
    grid: [of.grid.rows, of.grid.columns],
    masked: standingOf(taken).masked,
    temperature: temperature === null ? null : rounded(temperature),
    equipment: [...equipment].sort(),
    forgot: of.forgetting.kind === "forgot" ? inSeconds(of.forgetting.at) : null,
    results: stepIds.flatMap((step) =>
      (taken.get(step)?.judged?.lines ?? []).map((line) => ({
        step,
        name: line.name,
        unit: line.unit,
        value: rounded(line.value),
        expanded: rounded(line.expanded),
        k: rounded(line.coverageFactor),
        low: line.low === null ? null : rounded(line.low),
        high: line.high === null ? null : rounded(line.high),
        decision: line.decision === "fail" && line.maskable ? "masked" : line.decision,
      })),
    ),
    decisionRule,
  };
}

export const issuedAt = ({ iat }: Pick<CertificateContent, "iat">): Instant =>
  instant(iat * millisecondsIn.second);
