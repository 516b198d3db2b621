/** A share as what it can be: the span of what is possible, and within it what was seen. */
export function RangeBar({ low, seen, high }: { low: number; seen: number | null; high: number }) {
  const at = (share: number) => `${(share * 100).toFixed(2)}%`;
  const whole = (share: number) => `${Math.round(share * 100)} %`;
  const label = `Between ${whole(low)} and ${whole(high)}${seen === null ? "" : `; of those seen, ${whole(seen)}`}`;
  return (
    <svg class="range-bar" width="100%" role="img" aria-label={label}>
      <title>{label}</title>
      <line class="axis" x1="0" x2="100%" y1="30" y2="30" />
      <rect class="span" x={at(low)} width={at(Math.max(0.004, high - low))} y="20" height="12" />
      {seen === null ? null : <line class="seen" x1={at(seen)} x2={at(seen)} y1="16" y2="34" />}
      <text x="0" y="46">
        0 %
      </text>
      <text x="100%" y="46" text-anchor="end">
        100 %
      </text>
      <text x={at(low)} y="14" text-anchor={low < 0.12 ? "start" : "end"} dx={low < 0.12 ? 0 : -2}>
        {whole(low)}
      </text>
      <text x={at(high)} y="14" text-anchor={high > 0.88 ? "end" : "start"} dx={high > 0.88 ? 0 : 2}>
        {high - low < 0.005 ? "" : whole(high)}
      </text>
    </svg>
  );
}
