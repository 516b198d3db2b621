import { counted } from "../layout/counted.ts";
import { Page } from "../layout/page.tsx";
import type { BenchFrame } from "./frame.ts";

export interface ModelLine {
  readonly id: string;
  readonly name: string;
  readonly size: string;
  readonly rows: number;
  readonly columns: number;
  /** Limits that differ from the usual. */
  readonly own: number;
  readonly absent: number;
}

/** Makes of cushion, and which of them have bench limits of their own. */
export function ModelsPage({ frame, models }: { frame: BenchFrame; models: readonly ModelLine[] }) {
  return (
    <Page title="Models" {...frame}>
      <h1>Models</h1>
      <p class="lead">
        What a sound cushion of each model reads on the bench, and where its grid has no cell. Until its
        maker’s figures are entered, the usual limits hold, and those are assumptions.
      </p>
      {models.length === 0 ? (
        <p class="empty">No model yet: Stores adds one with its first unit.</p>
      ) : (
        <table class="ledger stacks">
          <caption>{counted(models.length, "model")}</caption>
          <thead>
            <tr>
              <th scope="col">Model</th>
              <th scope="col">Grid</th>
              <th scope="col">Bench limits</th>
            </tr>
          </thead>
          <tbody>
            {models.map((model) => (
              <tr>
                <th scope="row">
                  <a href={`/bench/models/${model.id}`}>
                    {model.name}, {model.size}
                  </a>
                </th>
                <td data-label="Grid">
                  {model.rows} × {model.columns}
                  {model.absent === 0 ? "" : `, ${model.absent} without a cell`}
                </td>
                <td data-label="Bench limits">
                  {model.own === 0 ? "the usual ones" : `${model.own} of its own`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </Page>
  );
}
