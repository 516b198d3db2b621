import {
  type RecallBalance,
  recallOutcomes,
  recallOutcomeWords,
} from "../../server/domain/lifecycle/recall-balance.ts";

/** The reconciliation: what is affected on one side, what became of it on the other. */
export function RecallBalanceTable({ balance }: { balance: RecallBalance }) {
  const rows = recallOutcomes.filter((outcome) => outcome === "outstanding" || balance.counts[outcome] > 0);
  return (
    <table class="ledger balance">
      <caption>
        Affected {balance.affected} ={" "}
        {rows.map((outcome) => `${balance.counts[outcome]} ${recallOutcomeWords[outcome]}`).join(" + ")}
      </caption>
      <thead>
        <tr>
          <th scope="col">Outcome</th>
          <th scope="col" class="number">
            Units
          </th>
        </tr>
      </thead>
      <tbody>
        {rows.map((outcome) => (
          <tr>
            <th scope="row">{recallOutcomeWords[outcome]}</th>
            <td class="number">{balance.counts[outcome]}</td>
          </tr>
        ))}
        <tr class="total">
          <th scope="row">Affected</th>
          <td class="number">{balance.affected}</td>
        </tr>
      </tbody>
    </table>
  );
}
