import type { CommandKind, CommandLine } from "../../server/domain/commands/command.ts";
import type { UnitHealth } from "../../server/domain/condition/unit-health.ts";
import type { ToldBySwap } from "../../server/domain/drift/after-swap.ts";
import type { Place } from "../../server/domain/lifecycle/place.ts";
import type { UnitRecord } from "../../server/domain/record/unit-record.ts";
import type { Instant } from "../../server/domain/units.ts";
import { BatteryChart } from "../charts/battery-chart.tsx";
import { CapacityChart } from "../charts/battery-chart-capacity.tsx";
import { DriftChart } from "../charts/drift-chart.tsx";
import { CusumStrip } from "../charts/drift-chart-cusum.tsx";
import { LinkStrip } from "../charts/link-strip.tsx";
import { SeatMap } from "../charts/seat-map.tsx";
import { CommandsPart } from "../layout/commands-part.tsx";
import type { Problems as ProblemList } from "../layout/forms.tsx";
import { Problems } from "../layout/forms.tsx";
import { LiveRegion } from "../layout/live-region.tsx";
import { Page } from "../layout/page.tsx";
import { type BenchHistory, BenchPart } from "./bench-part.tsx";
import type { FindingLine } from "./finding-line.ts";
import { FindingsPart } from "./findings-part.tsx";
import type { BenchFrame } from "./frame.ts";
import { LeanTable } from "./lean-table.tsx";
import { LoansPart } from "./loans-part.tsx";
import { PlacePart } from "./place-part.tsx";
import { ReplayTable } from "./replay-table.tsx";
import { StoryPart } from "./story-part.tsx";
import { ToldPart } from "./told-part.tsx";

export interface UnitPageProps {
  readonly frame: BenchFrame;
  readonly unit: {
    readonly serial: string;
    readonly modelName: string;
    readonly size: string;
    readonly lotId: string;
    readonly firmware: string | null;
    readonly hardware: string | null;
    readonly place: Place;
    readonly placeSince: Instant;
  };
  readonly barredBy: readonly string[];
  readonly reserved: boolean;
  readonly assessedAt: Instant | null;
  readonly lastRecordedAt: Instant | null;
  readonly health: UnitHealth;
  /** What it told of itself in the last week. */
  readonly record: UnitRecord;
  /** A swap after the load had fallen, from or to this unit; null: none that tells anything. */
  readonly swap: ToldBySwap | null;
  readonly open: readonly FindingLine[];
  readonly past: readonly FindingLine[];
  /** When, never to whom. */
  readonly loans: readonly LoanTime[];
  readonly reachable: boolean;
  readonly certificateEnds: Instant | null;
  readonly bench: BenchHistory;
  readonly mayAsk: readonly CommandKind[];
  /** Newest first. */
  readonly commands: readonly CommandLine[];
  readonly problems?: ProblemList | undefined;
  readonly told?: string | undefined;
}

export interface LoanTime {
  readonly reference: string;
  readonly openedAt: Instant;
  readonly startedAt: Instant | null;
  readonly endedAt: Instant | null;
}

export function UnitPage(props: UnitPageProps) {
  const { frame, unit, problems, told } = props;
  return (
    <Page title={`Unit ${unit.serial}`} {...frame}>
      <h1>Unit {unit.serial}</h1>
      {told === undefined ? null : (
        <p class="told" role="status">
          {told}
        </p>
      )}
      <Problems errors={problems} />
      <LiveRegion id="unit" topics={[`unit:${unit.serial}`]} url={`/bench/units/${unit.serial}`}>
        <StoryPart {...props} />
        <FindingsPart frame={frame} open={props.open} past={props.past} />
        <CommandsPart
          frame={frame}
          action={`/bench/units/${unit.serial}/commands`}
          reachable={props.reachable}
          certificateEnds={props.certificateEnds}
          mayAsk={props.mayAsk}
          commands={props.commands}
        />
        <Pictures {...props} />
        <ToldPart frame={frame} told={props.record} boots={props.record.boots} />
        <div class="beside">
          <div class="stack">
            <LoansPart frame={frame} loans={props.loans} />
            <BenchPart frame={frame} serial={unit.serial} history={props.bench} />
          </div>
          <PlacePart {...props} />
        </div>
      </LiveRegion>
    </Page>
  );
}

function Pictures({ frame, health }: UnitPageProps) {
  const { battery, grid, drift, link } = health;
  const { zone } = frame;
  return (
    <>
      <section id="grid">
        <h2>Seat map</h2>
        {grid === null ? (
          <p class="empty">No picture yet: the seat must be seen empty three times and sat on once.</p>
        ) : (
          <div class="beside">
            <SeatMap grid={grid} zone={zone} />
            <div class="stack">
              <LeanTable grid={grid} />
              <ReplayTable grid={grid} />
            </div>
          </div>
        )}
      </section>
      <div class="beside">
        <section id="battery">
          <h2>Battery</h2>
          {battery === null ? (
            <p class="empty">No minute is on record yet.</p>
          ) : (
            <>
              <BatteryChart battery={battery} over={health.over} zone={zone} />
              <CapacityChart battery={battery} zone={zone} />
            </>
          )}
        </section>
        <section id="drift">
          <h2>Empty reading</h2>
          {drift === null || drift.kind === "too-few-days" ? (
            <p class="empty">
              No chart yet: {drift?.have ?? 0} of the {drift?.need ?? 10} days with an empty seat that it
              takes.
            </p>
          ) : (
            <>
              <DriftChart drift={drift.drift} zone={zone} />
              <CusumStrip drift={drift.drift} zone={zone} />
            </>
          )}
        </section>
      </div>
      <section id="link">
        <h2>Link</h2>
        {link.recordedMinutes === 0 ? (
          <p class="empty">No minute is on record yet.</p>
        ) : (
          <LinkStrip link={link} zone={zone} />
        )}
      </section>
    </>
  );
}
