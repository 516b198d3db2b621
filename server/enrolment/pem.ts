/** Textual encoding of RFC 7468: the label decides what readers take it for. */
export function asPem(label: "PRIVATE KEY" | "X509 CRL" | "CERTIFICATE REQUEST", der: ArrayBuffer): string {
  const lines = Buffer.from(der)
    .toString("base64")
    .replace(/.{1,64}/g, "$&\n");
  return `-----BEGIN ${label}-----\n${lines}-----END ${label}-----\n`;
}
