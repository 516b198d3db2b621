/* The arrows between the rooms: what is on the left of a rule may not reach what is on its right. Each rule is shown
   to fail by a planted violation (tests/architecture). */
const anyRoom = "^(server|views|firmware-protocol|scripts|tests)/";
/* Small contracts that any room of the server may use. */
const contracts = "^server/(services|clock|chance|live|log|config)\\.ts$";

/** `from` may import itself, the contracts where `server` says so, and `to`; nothing else of ours. */
const only = (name, from, allowed, comment) => ({
  name,
  severity: "error",
  comment,
  from: { path: from },
  to: { path: anyRoom, pathNot: [from, ...allowed] },
});

const domain = "^server/domain/";
const store = "^server/store/";
const protocol = "^firmware-protocol/";
const programme = "^server/programme/";
const security = "^server/security/";
const enrolment = "^server/enrolment/";
const http = "^server/http/";
const views = "^views/";

module.exports = {
  forbidden: [
    only("domain-imports-only-itself", domain, [], "The domain is pure computation."),
    {
      name: "domain-has-no-packages",
      severity: "error",
      comment: "The domain does no I/O, and needs no package.",
      from: { path: domain },
      to: { dependencyTypes: ["npm", "npm-dev", "npm-no-pkg", "npm-unknown", "core"] },
    },
    only("protocol-stands-alone", protocol, [], "It could be handed to a firmware team today."),
    {
      name: "protocol-has-no-packages",
      severity: "error",
      comment: "It could be handed to a firmware team today.",
      from: { path: "^firmware-protocol/src/" },
      to: { dependencyTypes: ["npm", "npm-dev", "npm-no-pkg", "npm-unknown", "core"] },
    },
    only(
      "store-is-below-everything",
      store,
      [domain, protocol, contracts],
      "The only SQL; it decides nothing. Telemetry decodes its own payloads.",
    ),
    only(
      "programme-decides-and-saves",
      programme,
      [domain, store, contracts],
      "Load, decide, save and audit.",
    ),
    only(
      "security-stands-on-store",
      security,
      [domain, store, contracts],
      "Sessions, passwords, one-time links.",
    ),
    only(
      "enrolment-stands-on-store",
      enrolment,
      [domain, store, protocol, contracts],
      "Pairing codes and certificates; speaks the protocol's enrolment shapes.",
    ),
    only(
      "ingest-takes-messages-in",
      "^server/ingest/",
      [programme, store, domain, protocol, contracts],
      "From the broker to the store.",
    ),
    only(
      "jobs-call-programme",
      "^server/jobs/",
      [programme, store, domain, contracts],
      "Timers that call programme.",
    ),
    only(
      "http-is-at-the-edge",
      http,
      [programme, enrolment, security, views, store, domain, protocol, contracts],
      "Parse, permit, act, render.",
    ),
    {
      name: "http-speaks-protocol-for-enrolment-only",
      severity: "error",
      comment: "Pages know units, not wire formats.",
      from: { path: http, pathNot: "^server/http/enrol-" },
      to: { path: protocol },
    },
    only(
      "views-take-props",
      views,
      [domain, "^server/live\\.ts$"],
      "Props in, markup out: a view that could ask the store would.",
    ),
    {
      name: "views-run-nothing-of-the-server-but-domain",
      severity: "error",
      comment: "Of the live topics a view takes the type alone.",
      from: { path: views },
      to: { path: "^server/live\\.ts$", dependencyTypesNot: ["type-only"] },
    },
    only("contracts-stay-small", contracts, [domain, store], "They name services; they build none."),
    only(
      "simulated-cushions-are-hardware",
      "^scripts/simulated-cushions/",
      [protocol],
      "Another process that knows the public protocol and nothing else of ours.",
    ),
    only(
      "conformance-knows-the-protocol-only",
      "^scripts/conformance/",
      [protocol],
      "It judges any server and any unit, and could be handed to a firmware team.",
    ),
    {
      name: "only-the-store-speaks-sql",
      severity: "error",
      comment: "SQL in one place.",
      from: { path: "^(server|views)/", pathNot: store },
      to: { path: "node_modules/(drizzle-orm|better-sqlite3)/" },
    },
    {
      name: "nothing-ships-from-tests",
      severity: "error",
      comment: "The product runs without its tests.",
      from: { path: "^(server|views|firmware-protocol|scripts)/" },
      to: { path: "^tests/" },
    },
    {
      name: "server-needs-no-script",
      severity: "error",
      comment: "The service runs without the demonstration.",
      from: { path: "^(server|views|firmware-protocol)/" },
      to: { path: "^scripts/" },
    },
    {
      name: "no-circles",
      severity: "error",
      comment: "A circle of imports is one file in several pieces.",
      from: {},
      to: { circular: true, viaOnly: { dependencyTypesNot: ["type-only"] } },
    },
    {
      name: "nothing-unresolved",
      severity: "error",
      comment: "An import that leads nowhere is not checked by any other rule.",
      from: {},
      to: { couldNotResolve: true },
    },
  ],
  options: {
    doNotFollow: { path: "node_modules" },
    exclude: { path: "(^|/)(migrations|vectors)/" },
    // Imports of types count: a type ties two rooms as firmly as a value does.
    tsPreCompilationDeps: true,
    tsConfig: { fileName: "tsconfig.json" },
    enhancedResolveOptions: {
      extensions: [".ts", ".tsx", ".mjs", ".cjs", ".js", ".json"],
      exportsFields: ["exports"],
      conditionNames: ["import", "node", "default", "types"],
    },
  },
};
