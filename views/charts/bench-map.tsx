interface BenchMapProps {
  readonly rows: number;
  readonly columns: number;
  /** Counts above the empty reading, or as they are where none is known. */
  readonly cells: readonly number[];
  readonly masked: readonly number[];
  readonly caption: string;
}

const side = 34;
const margin = 22;
const inkSteps = 5;

/** The grid as it reads now, seen from above, front of the seat at the bottom. Each cell's number is written in it; the
 *  shade only helps. Cells that don't count are crossed out. */
export function BenchMap({ rows, columns, cells, masked, caption }: BenchMapProps) {
  const width = columns * side + 2 * margin;
  const height = rows * side + 2 * margin;
  const most = Math.max(1, ...cells);
  const out = new Set(masked);
  return (
    <figure class="chart-figure bench-map">
      <svg class="chart" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={caption}>
        <title>{caption}</title>
        <desc>
          {rows} rows and {columns} columns, counts in each cell, greatest {Math.round(most)}.
        </desc>
        {cells.map((count, cell) => {
          // Row 0 is the front: it is drawn lowest.
          const y = margin + (rows - 1 - Math.floor(cell / columns)) * side;
          const x = margin + (cell % columns) * side;
          const step = Math.min(inkSteps - 1, Math.max(0, Math.floor((inkSteps * count) / (most + 1))));
          return (
            <g>
              <rect class={`bench-cell ink-${step}`} x={x} y={y} width={side} height={side} />
              <text
                class={`bench-count ink-${step}`}
                x={x + side / 2}
                y={y + side / 2 + 4}
                text-anchor="middle"
              >
                {Math.round(count)}
              </text>
              {out.has(cell) ? (
                <path
                  class="bench-out"
                  d={`M${x + 3} ${y + 3}L${x + side - 3} ${y + side - 3}M${x + side - 3} ${y + 3}L${x + 3} ${y + side - 3}`}
                />
              ) : null}
            </g>
          );
        })}
        <text x={width / 2} y={14} text-anchor="middle">
          rear
        </text>
        <text x={width / 2} y={height - 6} text-anchor="middle">
          front
        </text>
        <text x={10} y={height / 2} text-anchor="middle">
          L
        </text>
        <text x={width - 10} y={height / 2} text-anchor="middle">
          R
        </text>
      </svg>
      <figcaption class="soft">
        {caption}
        {masked.length === 0 ? "" : ` ${masked.length} crossed out: they don’t count.`}
      </figcaption>
    </figure>
  );
}
