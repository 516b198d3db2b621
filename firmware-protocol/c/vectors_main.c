/* Runs payloads through cushion.c, for the tests. Reads lines of `up` or `down`, a space and hexadecimal bytes; answers each
 * with one line, its parts set apart by tabs:
 *
 *   accepted  what it means, as JSON  the same message written again, hexadecimal
 *   refused   clause                  field  the sender that can still be told, as JSON or null
 *   broken    what this program found wrong with the library itself
 *
 * A line `forget`, a receipt in hexadecimal and pairs of boot:sequence, all set apart by spaces, is answered with those of
 * the pairs that may be forgotten. A line `log`, a serial and payloads in hexadecimal is answered with the log file.
 */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "cushion.h"

#define LONGEST (2u * CUSHION_MAX_UPLINK)

static const char *const resets[] = {"power-on", "brown-out", "watchdog", "software", "user-off", "unknown"};
static const char *const powers[] = {"on-battery", "charging", "charged"};
static const char *const reliefs[] = {"lift", "lean-left", "lean-right", "lean-forward", "tilt"};
static const char *const break_offs[] = {"sat-back", "got-up", "other-relief", "power-lost", "unknown"};
static const char *const faults[] = {"battery-cut-off", "charge-too-hot", "charge-too-cold", "cell-hot",
                                     "grid-self-test",  "store-overrun",  "clock-lost",      "wet"};
static const char *const events[] = {"charge-start",   "charge-end",      "cut-off",
                                     "charge-too-hot", "charge-too-cold", "voltage-step"};
static const char *const charge_ends[] = {"full", "interrupted"};
static const char *const links[] = {"up", "down", "not-told"};
static const char *const notices[] = {"certificate-expires"};
static const char *const states[] = {"accepted", "done", "refused", "expired"};
static const char *const reasons[] = {"unsupported", "unreadable", "busy", "battery-low", "seat-loaded", "failed"};
static const char *const actions[] = {"plan",   "frame",             "self-test", "identify",
                                      "report", "renew-certificate", "forget"};

static cushion_minute minutes_kept[CUSHION_MAX_MINUTES];
static cushion_message message;
static cushion_refusal refusal;

static void number(const char *name, int64_t value) { printf(",\"%s\":%" PRId64, name, value); }
static void flag(const char *name, bool value) { printf(",\"%s\":%s", name, value ? "true" : "false"); }
static void word(const char *name, const char *value) { printf(",\"%s\":\"%s\"", name, value); }

static void number_or_null(const char *name, bool there, int64_t value) {
  if (there) number(name, value);
  else printf(",\"%s\":null", name);
}

static void quoted(const char *value) {
  putchar('"');
  for (; *value != '\0'; value++) {
    if (*value == '"' || *value == '\\') putchar('\\');
    putchar(*value);
  }
  putchar('"');
}

static void text(const char *name, const char *value) {
  printf(",\"%s\":", name);
  quoted(value);
}

static void optional_text(const char *name, const char *value) {
  if (value[0] != '\0') text(name, value);
}

static void hex(const uint8_t *bytes, size_t length) {
  for (size_t at = 0; at < length; at++) printf("%02x", bytes[at]);
}

static void envelope(const cushion_envelope *e) {
  printf("\"unit\":\"%s\"", e->unit);
  number("boot", e->boot);
  number("sequence", e->sequence);
  number("uptimeSeconds", e->uptime);
  number_or_null("wallSeconds", e->wall_known, e->wall);
}

static void name_of_message(const char *name, const cushion_name *m) {
  printf(",\"%s\":{\"boot\":%" PRIu32 ",\"sequence\":%" PRIu32 "}", name, m->boot, m->sequence);
}

static void hello(const cushion_hello *m) {
  text("firmware", m->firmware);
  text("hardware", m->hardware);
  word("reset", resets[m->reset]);
  number("rows", m->rows);
  number("columns", m->columns);
  number("pitchMillimetres", m->pitch_millimetres);
  number("queued", m->queued);
  if (m->has_oldest_unsent) name_of_message("oldestUnsent", &m->oldest_unsent);
  if (m->store_capacity != 0) number("storeCapacityMessages", m->store_capacity);
  if (m->has_certificate_not_after) number("certificateNotAfter", m->certificate_not_after);
  optional_text("relay", m->relay);
}

static void minutes(const cushion_minutes *m) {
  number("firstUptimeSeconds", m->first_uptime);
  printf(",\"minutes\":[");
  for (size_t at = 0; at < m->count; at++) {
    const cushion_minute *record = &m->records[at];
    printf("%s{\"loaded\":%s", at > 0 ? "," : "", record->loaded ? "true" : "false");
    word("power", powers[record->power]);
    number("loadHectograms", record->load_hectograms);
    number("centreRightPercent", record->centre_right_percent);
    number("centreFrontPercent", record->centre_front_percent);
    number("cellMillivolts", record->cell_millivolts);
    number("temperatureDecicelsius", record->temperature_decicelsius);
    number_or_null("signalDecibelMilliwatts", record->relay_heard, record->signal_dbm);
    if (m->has_humidity) number("humidityPercent", record->humidity_percent);
    putchar('}');
  }
  putchar(']');
}

static void relief(const cushion_relief *m) {
  word("relief", reliefs[m->relief]);
  number("startUptimeSeconds", m->start_uptime);
  number("holdSeconds", m->hold_seconds);
  number("depthPercent", m->depth_percent);
  flag("complete", m->complete);
  flag("prompted", m->prompted);
  if (m->has_broken_off) word("brokenOff", break_offs[m->broken_off]);
  if (m->has_side_load)
    printf(",\"sideLoadPercent\":{\"left\":%u,\"right\":%u}", m->left_percent, m->right_percent);
}

static void frame(const cushion_frame *m) {
  number("takenUptimeSeconds", m->taken_uptime);
  flag("loaded", m->loaded);
  number("rows", m->rows);
  number("columns", m->columns);
  number("temperatureDecicelsius", m->temperature_decicelsius);
  printf(",\"cells\":\"");
  hex(m->cells.at, m->cells.length);
  putchar('"');
}

static void fault(const cushion_fault *m) {
  word("fault", faults[m->fault]);
  number("atUptimeSeconds", m->at_uptime);
  if (m->has_lost)
    printf(",\"lost\":{\"boot\":%" PRIu32 ",\"fromSequence\":%" PRIu32 ",\"toSequence\":%" PRIu32 "}", m->lost_boot,
           m->lost_from, m->lost_to);
  else printf(",\"lost\":null");
  number_or_null("value", m->has_value, m->value);
}

static void power(const cushion_power *m) {
  word("event", events[m->event]);
  number("atUptimeSeconds", m->at_uptime);
  number("cellMillivolts", m->cell_millivolts);
  number("temperatureDecicelsius", m->temperature_decicelsius);
  if (m->has_ended) word("ended", charge_ends[m->ended]);
  if (m->has_step)
    printf(",\"step\":{\"restMillivolts\":%u,\"loadMillivolts\":%u,\"burstMilliamperes\":%u}", m->rest_millivolts,
           m->load_millivolts, m->burst_milliamperes);
}

static void relay(const cushion_relay *m) {
  text("relay", m->relay);
  number("heardUptimeSeconds", m->heard_uptime);
  number_or_null("relayUptimeSeconds", m->relay_uptime_known, m->relay_uptime);
  word("link", links[m->link]);
  number("signalDecibelMilliwatts", m->signal_dbm);
}

static void lines(const char *name, const uint8_t *values, unsigned count) {
  printf(",\"%s\":[", name);
  for (unsigned at = 0; at < count; at++) printf("%s%u", at > 0 ? "," : "", values[at]);
  putchar(']');
}

static void self_test(const cushion_self_test *m) {
  number("atUptimeSeconds", m->at_uptime);
  flag("passed", m->passed);
  number("rows", m->rows);
  number("columns", m->columns);
  number("cellsTested", m->cells_tested);
  number("cellsFailed", m->cells_failed);
  printf(",\"failedCells\":[");
  for (unsigned at = 0; at < m->listed_cells; at++) printf("%s%u", at > 0 ? "," : "", m->failed_cells[at]);
  putchar(']');
  lines("failedRows", m->failed_rows, m->failed_row_count);
  lines("failedColumns", m->failed_columns, m->failed_column_count);
  optional_text("command", m->command);
}

static void result(const cushion_result *m) {
  text("command", m->command);
  word("state", states[m->state]);
  if (m->has_reason) word("reason", reasons[m->reason]);
  else printf(",\"reason\":null");
  number("atUptimeSeconds", m->at_uptime);
  optional_text("detail", m->detail);
}

static void receipt(const cushion_receipt *m) {
  printf(",\"stored\":[");
  for (unsigned boot = 0; boot < m->boot_count; boot++) {
    const cushion_stored *entry = &m->stored[boot];
    printf("%s{\"boot\":%" PRIu32, boot > 0 ? "," : "", entry->boot);
    number("through", entry->through);
    printf(",\"holes\":[");
    for (unsigned hole = 0; hole < entry->hole_count; hole++)
      printf("%s[%" PRIu32 ",%" PRIu32 "]", hole > 0 ? "," : "", entry->holes[hole][0], entry->holes[hole][1]);
    printf("]}");
  }
  putchar(']');
  number("serverUnixSeconds", m->server_time);
}

static void plan(const cushion_plan *m) {
  number("version", m->version);
  number("intervalMinutes", m->interval_minutes);
  number("holdSeconds", m->hold_seconds);
  printf(",\"kinds\":[");
  for (unsigned at = 0; at < m->kind_count; at++) printf("%s\"%s\"", at > 0 ? "," : "", reliefs[m->kinds[at]]);
  putchar(']');
}

static void certificate(const cushion_certificate *m) {
  name_of_message("renewal", &m->renewal);
  printf(",\"chain\":[");
  for (unsigned at = 0; at < m->chain_length; at++) {
    printf("%s\"", at > 0 ? "," : "");
    hex(m->chain[at].at, m->chain[at].length);
    putchar('"');
  }
  putchar(']');
}

static const char *kind_name(cushion_kind kind) {
  static const char *const up[] = {"hello", "minutes",   "relief", "frame",  "fault",  "power",
                                   "relay", "self-test", "prompt", "notice", "result", "renewal"};
  static const char *const down[] = {"receipt", "plan", "command", "certificate"};
  return kind < CUSHION_RECEIPT ? up[kind - CUSHION_HELLO] : down[kind - CUSHION_RECEIPT];
}

static void body(const cushion_message *m) {
  switch (m->kind) {
    case CUSHION_HELLO: hello(&m->body.hello); break;
    case CUSHION_MINUTES: minutes(&m->body.minutes); break;
    case CUSHION_RELIEF: relief(&m->body.relief); break;
    case CUSHION_FRAME: frame(&m->body.frame); break;
    case CUSHION_FAULT: fault(&m->body.fault); break;
    case CUSHION_POWER: power(&m->body.power); break;
    case CUSHION_RELAY: relay(&m->body.relay); break;
    case CUSHION_SELF_TEST: self_test(&m->body.self_test); break;
    case CUSHION_PROMPT:
      number("givenUptimeSeconds", m->body.prompt.given_uptime);
      number("planVersion", m->body.prompt.plan_version);
      number_or_null("followedBySequence", m->body.prompt.followed, m->body.prompt.followed_by_sequence);
      break;
    case CUSHION_NOTICE:
      word("notice", notices[m->body.notice.notice]);
      number("dueUnixSeconds", m->body.notice.due);
      break;
    case CUSHION_RESULT: result(&m->body.result); break;
    case CUSHION_RENEWAL:
      printf(",\"request\":\"");
      hex(m->body.renewal.request.at, m->body.renewal.request.length);
      putchar('"');
      optional_text("command", m->body.renewal.command);
      break;
    case CUSHION_RECEIPT: receipt(&m->body.receipt); break;
    case CUSHION_PLAN: plan(&m->body.plan); break;
    case CUSHION_COMMAND:
      text("id", m->body.command.id);
      number("expiresUnixSeconds", m->body.command.expires);
      word("action", actions[m->body.command.action]);
      if (m->body.command.has_plan_version) number("planVersion", m->body.command.plan_version);
      break;
    case CUSHION_CERTIFICATE: certificate(&m->body.certificate); break;
  }
}

static bool decode(bool up, const uint8_t *bytes, size_t length, cushion_refusal *why) {
  if (up) return cushion_decode_uplink(bytes, length, minutes_kept, CUSHION_MAX_MINUTES, &message, why);
  return cushion_decode_downlink(bytes, length, &message, why);
}

static void unit_of(const cushion_envelope *e, char *out) { memcpy(out, e->unit, sizeof e->unit); }

/* Cut at every byte, in a block of memory that ends with it, nothing may be accepted and no other sender told of. */
static const char *cuts_wrong(bool up, const uint8_t *bytes, size_t length, const char *unit) {
  for (size_t cut = 0; cut < length; cut++) {
    cushion_refusal why;
    uint8_t *exact = malloc(cut > 0 ? cut : 1);
    if (exact == NULL) return "no memory";
    memcpy(exact, bytes, cut);
    const bool accepted = decode(up, exact, cut, &why);
    free(exact);
    if (accepted) return "accepted when cut";
    if (why.clause != 301) return "refused under another clause when cut";
    if (why.has_envelope && (!up || strcmp(why.envelope.unit, unit) != 0)) return "another sender when cut";
  }
  return NULL;
}

/* In a buffer of any smaller size it must refuse, and write nothing past its end. */
static const char *short_buffers_wrong(size_t length) {
  const size_t step = length > 256 ? length / 64 : 1;
  for (size_t size = 0; size < length; size += step) {
    cushion_refusal why;
    uint8_t *exact = malloc(size > 0 ? size : 1);
    if (exact == NULL) return "no memory";
    const size_t written = cushion_encode(&message, exact, size, &why);
    free(exact);
    if (written != 0 || why.clause != 302) return "written into a buffer too short for it";
  }
  return NULL;
}

static void answer(bool up, const uint8_t *bytes, size_t length, bool thorough) {
  static uint8_t again[CUSHION_MAX_UPLINK];
  char unit[CUSHION_LABEL] = "";
  if (!decode(up, bytes, length, &refusal)) {
    printf("refused\tFP-%d.%d\t%s", refusal.clause / 100, refusal.clause % 100, refusal.field);
    if (strcmp(refusal.field, "key") == 0) printf(" %u", refusal.key);
    printf("\t%s", refusal.has_envelope ? "{" : "null");
    if (refusal.has_envelope) {
      envelope(&refusal.envelope);
      putchar('}');
    }
    putchar('\n');
    return;
  }
  if (up) unit_of(&message.envelope, unit);
  if (thorough) {
    const char *wrong = cuts_wrong(up, bytes, length, unit);
    decode(up, bytes, length, &refusal);
    const size_t size = cushion_encode(&message, again, sizeof again, &refusal);
    if (wrong == NULL) wrong = short_buffers_wrong(size);
    if (wrong != NULL) {
      printf("broken\t%s\n", wrong);
      return;
    }
  }
  printf("accepted\t{\"kind\":\"%s\"", kind_name(message.kind));
  if (up) {
    putchar(',');
    envelope(&message.envelope);
  }
  body(&message);
  printf("}\t");
  const size_t size = cushion_encode(&message, again, sizeof again, &refusal);
  hex(again, size);
  putchar('\n');
}

static int nibble(int c) { return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1; }

static size_t bytes_from(const char *digits, uint8_t *bytes, size_t length) {
  for (size_t at = 0; at < length; at++)
    bytes[at] = (uint8_t)(nibble(digits[2 * at]) << 4 | nibble(digits[2 * at + 1]));
  return length;
}

static bool forget(char *words) {
  static uint8_t bytes[CUSHION_MAX_DOWNLINK];
  const char *word = strtok(words, " \n");
  if (word == NULL || strlen(word) / 2 > sizeof bytes) return false;
  const size_t length = bytes_from(word, bytes, strlen(word) / 2);
  if (!decode(false, bytes, length, &refusal) || message.kind != CUSHION_RECEIPT) return false;
  printf("forgets");
  for (word = strtok(NULL, " \n"); word != NULL; word = strtok(NULL, " \n")) {
    char *rest;
    const uint32_t boot = (uint32_t)strtoul(word, &rest, 10);
    const uint32_t sequence = (uint32_t)strtoul(rest + 1, NULL, 10);
    if (cushion_may_forget(&message.body.receipt, boot, sequence)) printf(" %s", word);
  }
  putchar('\n');
  return true;
}

static void hexadecimal(const uint8_t *bytes, size_t length) {
  for (size_t at = 0; at < length; at++) printf("%02x", (unsigned)bytes[at]);
}

/* Each piece is also tried with a byte too little room. */
static bool log_file(char *words) {
  static uint8_t payload[CUSHION_MAX_UPLINK + 1], piece[CUSHION_MAX_UPLINK + CUSHION_LOG_ROOM];
  char unit[CUSHION_LABEL] = "";
  const char *word = strtok(words, " \n");
  if (word == NULL || strlen(word) >= sizeof unit) return false;
  strcpy(unit, word);
  size_t written = cushion_log_header(unit, piece, sizeof piece);
  if (written == 0 || cushion_log_header(unit, piece, written - 1) != 0) return false;
  hexadecimal(piece, written);
  for (word = strtok(NULL, " \n"); word != NULL; word = strtok(NULL, " \n")) {
    if (strlen(word) / 2 > sizeof payload) return false;
    const size_t length = bytes_from(word, payload, strlen(word) / 2);
    written = cushion_log_record(payload, length, piece, sizeof piece);
    if (written == 0 || cushion_log_record(payload, length, piece, written - 1) != 0) return false;
    cushion_log_record(payload, length, piece, written);
    hexadecimal(piece, written);
  }
  putchar('\n');
  return true;
}

/* `thorough` as the one argument also tries every cut and shorter buffers. */
int main(int argc, char **argv) {
  static char line[2 * LONGEST + 8];
  const bool thorough = argc > 1 && strcmp(argv[1], "thorough") == 0;
  while (fgets(line, sizeof line, stdin) != NULL) {
    const bool up = strncmp(line, "up ", 3) == 0;
    const char *digits = strchr(line, ' ');
    if (digits == NULL) return 1;
    digits++;
    if (strncmp(line, "forget ", 7) == 0) {
      if (!forget(line + 7)) return 1;
      continue;
    }
    if (strncmp(line, "log ", 4) == 0) {
      if (!log_file(line + 4)) return 1;
      continue;
    }
    const size_t length = strcspn(digits, "\n") / 2;
    uint8_t *bytes = malloc(length > 0 ? length : 1);
    if (bytes == NULL) return 1;
    bytes_from(digits, bytes, length);
    answer(up, bytes, length, thorough);
    free(bytes);
  }
  return 0;
}
