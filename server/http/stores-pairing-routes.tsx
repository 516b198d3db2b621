import { z } from "zod";
import { PairingCodePage } from "../../views/stores/pairing-code-page.tsx";
import { codeState } from "../domain/enrolment/pairing-code-state.ts";
import { pairingCodeId } from "../domain/ids.ts";
import type { Enrolment } from "../enrolment/enrolment.ts";
import { issuePairingCode } from "../enrolment/issue-pairing-code.ts";
import { pairingCodeText } from "../enrolment/pairing-code-text.ts";
import { pairingCodePicture } from "../enrolment/pairing-picture.ts";
import { withdrawPairingCode } from "../enrolment/withdraw-pairing-code.ts";
import type { Services } from "../services.ts";
import { pairingCodesOfLoan } from "../store/pairing-codes.ts";
import { readForm } from "./forms.ts";
import type { AppContext, Route } from "./route.ts";
import { actorOf, storesFrame } from "./stores-frame.ts";
import { loanOf, showLoan } from "./stores-loan-page.tsx";

export const pairingRoutes = (services: Services, enrolment: Enrolment): readonly Route[] => [
  {
    method: "GET",
    path: "/stores/loans/:id/pairing-code",
    needs: "show-pairing-code",
    handle: (context) => showCode(services, enrolment, context),
  },
  {
    method: "POST",
    path: "/stores/loans/:id/pairing-code",
    needs: "show-pairing-code",
    handle: (context) => issue(services, enrolment, context),
  },
  {
    method: "POST",
    path: "/stores/loans/:id/pairing-code/withdraw",
    needs: "withdraw-pairing-code",
    handle: (context) => withdraw(services, context),
  },
];

const says = (services: Services, context: AppContext, sentence: string) =>
  showLoan(services, context, { problems: { form: sentence }, typed: {}, status: 409 });

async function showCode(services: Services, enrolment: Enrolment, context: AppContext) {
  const loan = loanOf(services, context);
  if (loan === null) return context.notFound();
  const code = pairingCodesOfLoan(services.db, loan.id)[0];
  if (code === undefined || codeState(code, services.clock.now()) !== "issued")
    return says(services, context, "There is no code of this loan that could still be used.");
  const { jws, typed } = await pairingCodeText(enrolment, code);
  const picture = (await pairingCodePicture(jws)).replace(
    "<svg ",
    '<svg class="pairing-code" role="img" aria-label="Pairing code" ',
  );
  // Nobody's cache keeps a permission to join.
  context.header("Cache-Control", "no-store");
  return context.html(
    <PairingCodePage
      frame={{ ...storesFrame(services, context, "/stores/loans"), live: false }}
      loan={loan}
      picture={picture}
      typed={typed}
      expiresAt={code.expiresAt}
    />,
  );
}

async function issue(services: Services, enrolment: Enrolment, context: AppContext) {
  const loan = loanOf(services, context);
  if (loan === null) return context.notFound();
  const form = await readForm(context, z.object({ "instead-of": z.string().optional() }));
  const shown = form.ok ? (form.value["instead-of"] ?? "") : "";
  const newest = pairingCodesOfLoan(services.db, loan.id)[0];
  if (newest !== undefined && newest.id !== shown && codeState(newest, services.clock.now()) === "issued")
    return says(
      services,
      context,
      "A code has just been issued already: it is shown here. Nothing was done twice.",
    );
  const outcome = await issuePairingCode(services, enrolment, actorOf(context), loan.id);
  if (outcome.kind === "refused") return says(services, context, outcome.sentence);
  return context.redirect(`/stores/loans/${loan.id}/pairing-code`, 303);
}

async function withdraw(services: Services, context: AppContext) {
  const form = await readForm(context, z.object({ code: z.string().transform(pairingCodeId) }));
  const loan = loanOf(services, context);
  if (loan === null || !form.ok) return context.notFound();
  // A code of another loan is none of this page's business.
  if (!pairingCodesOfLoan(services.db, loan.id).some((code) => code.id === form.value.code))
    return context.notFound();
  const outcome = withdrawPairingCode(services, actorOf(context), form.value.code);
  if (outcome.kind === "refused") return says(services, context, outcome.sentence);
  return context.redirect(`/stores/loans/${loan.id}?told=withdrawn`, 303);
}
