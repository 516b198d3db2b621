import { keysOf } from "../../server/domain/keys-of.ts";
import type { CellState } from "../../server/domain/sensor-grid/cell-states.ts";
import type { GridHealth } from "../../server/domain/sensor-grid/grid-health.ts";
import type { SilentLine } from "../../server/domain/sensor-grid/silent-lines.ts";
import type { ZoneName } from "../../server/domain/time/local-day.ts";
import { dateTimeWords } from "../layout/words.ts";

const width = 400;
const margin = { side: 58, top: 26, bottom: 56 };

/** The grid from above, as one sees it standing in front of the chair: the front of the seat at the bottom, so the
 *  person's left is on the picture's right. */
export function SeatMap({ grid, zone }: { grid: GridHealth; zone: ZoneName }) {
  const { rows, columns, states, lines } = grid;
  const size = (width - 2 * margin.side) / Math.max(columns, rows);
  const left = (width - size * columns) / 2;
  const x = (column: number) => left + (columns - 1 - column) * size;
  const y = (row: number) => margin.top + (rows - 1 - row) * size;
  const foot = margin.top + rows * size;
  return (
    <figure class="chart-figure">
      <svg
        class="chart seat-map"
        viewBox={`0 0 ${width} ${foot + margin.bottom}`}
        role="img"
        aria-labelledby="seat-map-title seat-map-desc"
      >
        <title id="seat-map-title">Seat map from above, front of the seat at the bottom</title>
        <desc id="seat-map-desc">{describe(grid)}</desc>
        <rect class="seat" x={left} y={margin.top} width={size * columns} height={size * rows} rx="6" />
        {states.map((state, cell) => (
          <Cell
            state={state}
            x={x(cell % columns)}
            y={y(Math.floor(cell / columns))}
            size={size}
            words={`Row ${Math.floor(cell / columns) + 1}, column ${(cell % columns) + 1}: ${stateWords[state]}`}
          />
        ))}
        {lines.map((line) => (
          <BrokenLine line={line} grid={grid} x={x} y={y} size={size} />
        ))}
        <text x={width / 2} y={margin.top - 10} text-anchor="middle">
          rear
        </text>
        {[0, columns - 1].map((column) => (
          <text class="small" x={x(column) + size / 2} y={foot + 14} text-anchor="middle">
            {column + 1}
          </text>
        ))}
        <text x={width / 2} y={foot + 34} text-anchor="middle">
          FRONT OF THE SEAT
        </text>
        <text class="small" x={width / 2} y={foot + 51} text-anchor="middle">
          columns are numbered from the person’s left, rows from the front
        </text>
        <SideWords x={left / 2} y={margin.top + (rows * size) / 2} words={["person’s", "right"]} />
        <SideWords x={width - left / 2} y={margin.top + (rows * size) / 2} words={["person’s", "left"]} />
      </svg>
      <figcaption>
        <Key states={states} />
        {lines.length === 0 ? null : (
          <ul class="plain">
            {lines.map((line) => (
              <li>
                <span class="warning">▭ Outlined:</span> {line.line} {line.index + 1} has not answered since{" "}
                {dateTimeWords(line.since, zone)}.
              </li>
            ))}
          </ul>
        )}
        <details>
          <summary>Seat map as a table</summary>
          <CellTable grid={grid} />
        </details>
      </figcaption>
    </figure>
  );
}

interface CellProps {
  readonly state: CellState;
  readonly x: number;
  readonly y: number;
  readonly size: number;
  readonly words: string;
}

function Cell({ state, x, y, size, words }: CellProps) {
  const middle = { x: x + size / 2, y: y + size / 2 };
  const arm = size * 0.26;
  return (
    <g>
      <rect class="cell" x={x} y={y} width={size} height={size} />
      {state === "working" ? <circle class="works" cx={middle.x} cy={middle.y} r={size * 0.2} /> : null}
      {state === "not-seen" ? <circle class="not-seen" cx={middle.x} cy={middle.y} r={size * 0.08} /> : null}
      {state === "open" ? (
        <path
          class="open"
          d={`M${middle.x - arm} ${middle.y - arm}l${2 * arm} ${2 * arm}m0 ${-2 * arm}l${-2 * arm} ${2 * arm}`}
        />
      ) : null}
      {state === "stuck" ? (
        <rect class="stuck" x={middle.x - arm} y={middle.y - arm} width={2 * arm} height={2 * arm} />
      ) : null}
      {state === "masked" ? (
        <path
          class="open"
          d={`M${middle.x - arm} ${middle.y + arm}l${2 * arm} ${-2 * arm}M${middle.x - arm} ${middle.y}l${arm} ${-arm}M${middle.x} ${middle.y + arm}l${arm} ${-arm}`}
        />
      ) : null}
      <title>{words}</title>
    </g>
  );
}

function BrokenLine(props: {
  line: SilentLine;
  grid: GridHealth;
  x: (column: number) => number;
  y: (row: number) => number;
  size: number;
}) {
  const { line, grid, x, y, size } = props;
  const whole = line.line === "column";
  const at = whole
    ? { x: x(line.index), y: y(grid.rows - 1), width: size, height: size * grid.rows }
    : { x: x(grid.columns - 1), y: y(line.index), width: size * grid.columns, height: size };
  return (
    <>
      <rect class="broken-line" {...at} rx="3" />
      <text
        class="small strong"
        x={whole ? at.x + size / 2 : at.x - 4}
        y={whole ? at.y + at.height + 14 : at.y + size / 2 + 4}
        text-anchor={whole ? "middle" : "end"}
      >
        {line.index + 1}
      </text>
    </>
  );
}

function SideWords({ x, y, words }: { x: number; y: number; words: readonly string[] }) {
  return (
    <>
      {words.map((word, index) => (
        <text class="small" x={x} y={y + 14 * index} text-anchor="middle">
          {word}
        </text>
      ))}
    </>
  );
}

const stateWords: Readonly<Record<CellState, string>> = {
  working: "works",
  "not-seen": "never loaded by this body: not seen",
  open: "doesn’t answer",
  stuck: "stuck",
  masked: "doesn’t count: masked at the bench, or its model has no cell there",
};
const stateMarks: Readonly<Record<CellState, string>> = {
  working: "●",
  "not-seen": "·",
  open: "✕",
  stuck: "■",
  masked: "▨",
};
const allStates = keysOf(stateWords);

function Key({ states }: { states: readonly CellState[] }) {
  return (
    <ul class="key">
      {allStates
        .map((state) => ({ state, count: states.filter((each) => each === state).length }))
        .filter(({ count }) => count > 0)
        .map(({ state, count }) => (
          <li>
            <span aria-hidden="true" class={`mark mark-${state}`}>
              {stateMarks[state]}
            </span>{" "}
            {count} {stateWords[state]}
          </li>
        ))}
    </ul>
  );
}

function CellTable({ grid }: { grid: GridHealth }) {
  const rows = Array.from({ length: grid.rows }, (_, index) => grid.rows - 1 - index);
  const columns = Array.from({ length: grid.columns }, (_, index) => grid.columns - 1 - index);
  return (
    <section class="wide" tabindex={0} aria-label="Seat map as a table">
      <table class="ledger cells">
        <caption>
          As in the picture: rear row first, the person’s right first. ● works, · never loaded, ✕ doesn’t
          answer, ■ stuck
        </caption>
        <thead>
          <tr>
            <th scope="col">Row</th>
            {columns.map((column) => (
              <th scope="col">{column + 1}</th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr>
              <th scope="row">{row + 1}</th>
              {columns.map((column) => {
                const state = grid.states[row * grid.columns + column] ?? "not-seen";
                return (
                  <td>
                    <span aria-hidden="true">{stateMarks[state]}</span>
                    <span class="seen-by-readers-only">{stateWords[state]}</span>
                  </td>
                );
              })}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function describe({ states, lines, rows, columns, visibility }: GridHealth): string {
  const counts = allStates
    .map((state) => `${states.filter((each) => each === state).length} ${stateWords[state]}`)
    .join(", ");
  const broken = lines.map(({ line, index }) => `${line} ${index + 1} does not answer`).join("; ");
  const leans = visibility
    .map(({ direction, outOfTen }) => `${direction} ${outOfTen.best.toFixed(1)}`)
    .join(", ");
  return `${rows} rows by ${columns} columns: ${counts}. ${broken === "" ? "No line is broken." : `${broken}.`} Of ten leans it would show: ${leans}.`;
}
