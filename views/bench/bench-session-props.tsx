import type { EquipmentKind } from "../../server/domain/bench/equipment.ts";
import type { Forgetting } from "../../server/domain/bench/forgetting.ts";
import type { Choice } from "../../server/domain/bench/outcome.ts";
import type { JudgedStep } from "../../server/domain/bench/reading.ts";
import type { BenchStep } from "../../server/domain/bench/steps.ts";
import type { BenchTolerances } from "../../server/domain/bench/tolerances.ts";
import type { Instant } from "../../server/domain/units.ts";
import { CsrfField, type Problems as ProblemList, type Typed } from "../layout/forms.tsx";
import type { SessionLine } from "./bench-sessions-page.tsx";
import type { BenchFrame } from "./frame.ts";

export interface EquipmentChoice {
  readonly id: string;
  readonly kind: EquipmentKind;
  readonly words: string;
}

export interface ConnectionShown {
  readonly state: "none" | "code-issued" | "paired";
  /** Trusted markup: an SVG that we drew ourselves; null while no code can be used. */
  readonly picture: string | null;
  readonly typed: string | null;
  readonly expiresAt: Instant | null;
  readonly lastHeardAt: Instant | null;
}

export interface StepShown {
  readonly id: BenchStep["id"];
  readonly attempt: number;
  readonly judged: JudgedStep | null;
  /** Points that were kept. */
  readonly kept: readonly string[];
}

interface AskedShown {
  readonly point: string;
  readonly have: number;
  readonly want: number;
  readonly refusal: string | null;
  readonly ready: boolean;
}

export interface MapShown {
  readonly rows: number;
  readonly columns: number;
  readonly cells: readonly number[];
  readonly masked: readonly number[];
  readonly at: Instant;
}

export interface SessionPageProps {
  readonly frame: BenchFrame;
  readonly session: SessionLine & { readonly version: number; readonly note: string | null };
  /** The reader holds it and may go on. */
  readonly mine: boolean;
  readonly steps: readonly StepShown[];
  readonly asked: AskedShown | null;
  readonly map: MapShown | null;
  readonly connection: ConnectionShown;
  readonly equipment: readonly EquipmentChoice[];
  readonly choices: readonly Choice[];
  readonly forgetting: Forgetting;
  readonly tolerances: BenchTolerances;
  readonly tolerancesFrom: string | null;
  readonly certificate: string | null;
  readonly problems?: ProblemList | undefined;
  readonly typed?: Typed | undefined;
}

/** Hidden fields of every form here. */
export function SeenFields({ frame, session }: Pick<SessionPageProps, "frame" | "session">) {
  return (
    <>
      <CsrfField signedIn={frame.signedIn} />
      <input type="hidden" name="version" value={String(session.version)} />
    </>
  );
}
