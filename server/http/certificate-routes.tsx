import { CertificatePage } from "../../views/bench/certificate-page.tsx";
import { inGroups, readTypedCode } from "../domain/enrolment/typed-code.ts";
import { readBenchCertificate } from "../enrolment/bench-certificate-token.ts";
import type { Enrolment } from "../enrolment/enrolment.ts";
import { pairingCodePicture } from "../enrolment/pairing-picture.ts";
import type { Services } from "../services.ts";
import { benchCertificateByCode } from "../store/bench-results.ts";
import type { AppContext, Route } from "./route.ts";

/** Whoever holds a certificate may verify it: it says nothing of any person, and its code can't be guessed (68 bits). */
export const certificateRoutes = (
  services: Services,
  enrolment: Enrolment,
  options: { readonly baseUrl: string },
): readonly Route[] => [
  {
    method: "GET",
    path: "/certificates/:code",
    needs: "public",
    handle: (context) => show(services, enrolment, options.baseUrl, context),
  },
  {
    method: "GET",
    path: "/certificates/:code/signed",
    needs: "public",
    handle: (context) => {
      const found = storedIn(services, context);
      return found === null
        ? context.notFound()
        : context.text(found.jws, 200, { "Content-Type": "application/jose" });
    },
  },
  {
    method: "GET",
    path: "/authority/signing-key.json",
    needs: "public",
    handle: (context) => {
      const { publicKey, id } = enrolment.pairingKey;
      return context.json({ ...publicKey.export({ format: "jwk" }), kid: id, alg: "EdDSA", use: "sig" });
    },
  },
];

function storedIn({ db }: Services, context: AppContext) {
  const typed = readTypedCode(context.req.param("code") ?? "");
  return typed === null ? null : benchCertificateByCode(db, inGroups(typed));
}

async function show(services: Services, enrolment: Enrolment, baseUrl: string, context: AppContext) {
  const found = storedIn(services, context);
  if (found === null) return context.notFound();
  const read = await readBenchCertificate(enrolment, found.jws);
  // What is stored here was signed here; that it no longer verifies means that key or record was changed.
  if (read.kind === "not-ours")
    return context.text("This certificate does not verify. Do not rely on it.", 409);
  const address = `${baseUrl}/certificates/${found.code}`;
  const picture = (await pairingCodePicture(address)).replace(
    "<svg ",
    '<svg role="img" aria-label="Address where this certificate is verified" ',
  );
  return context.html(
    <CertificatePage
      frame={{ zone: services.zone, now: services.clock.now() }}
      content={read.content}
      signedBy={read.signedBy}
      issuer={enrolment.issuer}
      newest={found.newest}
      picture={picture}
      address={address}
    />,
  );
}
