#include "cushion.h"

#include <string.h>

enum { UNSIGNED, NEGATIVE, BYTES, TEXT, LIST, MAP, TAG, SIMPLE };
enum { IS_FALSE = 20, IS_TRUE = 21, IS_NULL = 22 };

#define MAX_DEPTH 8u   /* [FP-3.9] */
#define FUTURE_KEY 64u /* [FP-4.9] */
#define LABEL_LENGTH (CUSHION_LABEL - 1u)

enum {
  NOT_WELL_FORMED = 301,
  TOO_LONG = 302,
  NOT_A_MAP = 303,
  LONGER_FORM = 304,
  INDEFINITE = 305,
  KEY_ORDER = 306,
  KEY_TWICE = 307,
  NOT_UTF8 = 308,
  TOO_DEEP = 309,
  WRONG_TYPE = 310,
  MISSING = 408,
  UNKNOWN_KEY = 409,
  COLUMN_LENGTH = 508
};

static const char whole_message[] = "message";

/* One entry of a message: what names it, the clause that rules it, and its range where it is a number. */
typedef struct {
  const char *name;
  uint16_t clause;
  uint8_t key;
  int32_t low;
  uint32_t high;
} field;

#define COUNT 0, 0xffffffffu
#define NO_RANGE 0, 0
static const field f_version = {"version", 401, 0, 1, 1};
static const field f_code = {"message", 402, 1, COUNT};
static const field f_unit = {"unit", 403, 2, NO_RANGE};
static const field f_boot = {"boot", 404, 3, COUNT};
static const field f_sequence = {"sequence", 405, 4, COUNT};
static const field f_uptime = {"uptimeSeconds", 406, 5, COUNT};
static const field f_wall = {"wallSeconds", 407, 6, COUNT};

static const field f_firmware = {"firmware", 501, 16, NO_RANGE};
static const field f_hardware = {"hardware", 501, 17, NO_RANGE};
static const field f_reset = {"reset", 502, 18, 0, 5};
static const field f_hello_rows = {"rows", 503, 19, 2, 64};
static const field f_hello_columns = {"columns", 503, 20, 2, 64};
static const field f_pitch = {"pitchMillimetres", 504, 21, 1, 100};
static const field f_queued = {"queued", 505, 22, COUNT};
static const field f_oldest = {"oldestUnsent", 561, 23, NO_RANGE};
static const field f_oldest_boot = {"oldestUnsent.boot", 561, 23, COUNT};
static const field f_oldest_sequence = {"oldestUnsent.sequence", 561, 23, COUNT};
static const field f_capacity = {"storeCapacityMessages", 562, 24, 1, 0xffffffffu};
static const field f_not_after = {"certificateNotAfter", 563, 25, COUNT};
static const field f_hello_relay = {"relay", 564, 26, NO_RANGE};

static const field f_first = {"firstUptimeSeconds", 506, 16, COUNT};
static const field f_flags = {"flags", 507, 17, NO_RANGE};
enum { LOAD, RIGHT, FRONT, CELL, TEMPERATURE, SIGNAL, HUMIDITY, COLUMNS };
static const field f_column[COLUMNS] = {
    {"loadHectograms", 509, 18, 0, 5000},        {"centreRightPercent", 510, 19, -100, 100},
    {"centreFrontPercent", 510, 20, -100, 100},  {"cellMillivolts", 511, 21, 0, 6000},
    {"temperatureDecicelsius", 512, 22, -400, 1250}, {"signalDecibelMilliwatts", 513, 23, -140, 0},
    {"humidityPercent", 565, 24, 0, 100},
};

static const field f_relief = {"relief", 514, 16, 0, 4};
static const field f_start = {"startUptimeSeconds", 515, 17, COUNT};
static const field f_hold = {"holdSeconds", 516, 18, 0, 65535};
static const field f_depth = {"depthPercent", 517, 19, 0, 100};
static const field f_complete = {"complete", 518, 20, NO_RANGE};
static const field f_prompted = {"prompted", 518, 21, NO_RANGE};
static const field f_broken_off = {"brokenOff", 566, 22, 0, 4};
static const field f_side_load = {"sideLoadPercent", 567, 23, 0, 200};

static const field f_taken = {"takenUptimeSeconds", 519, 16, COUNT};
static const field f_loaded = {"loaded", 520, 17, NO_RANGE};
static const field f_frame_rows = {"rows", 520, 18, 2, 64};
static const field f_frame_columns = {"columns", 520, 19, 2, 64};
static const field f_frame_temperature = {"temperatureDecicelsius", 521, 20, -400, 1250};
static const field f_cells = {"cells", 522, 21, NO_RANGE};

static const field f_fault = {"fault", 523, 16, 0, 7};
static const field f_fault_at = {"atUptimeSeconds", 524, 17, COUNT};
static const field f_lost = {"lost", 525, 18, NO_RANGE};
static const field f_lost_boot = {"lost.boot", 525, 18, COUNT};
static const field f_lost_from = {"lost.fromSequence", 525, 18, COUNT};
static const field f_lost_to = {"lost.toSequence", 525, 18, COUNT};
static const field f_value = {"value", 526, 19, INT32_MIN, 0x7fffffffu};

static const field f_event = {"event", 533, 16, 0, 5};
static const field f_power_at = {"atUptimeSeconds", 534, 17, COUNT};
static const field f_power_cell = {"cellMillivolts", 535, 18, 0, 6000};
static const field f_power_temperature = {"temperatureDecicelsius", 535, 19, -400, 1250};
static const field f_ended = {"ended", 536, 20, 0, 1};
static const field f_step = {"step", 537, 21, NO_RANGE};
static const field f_rest = {"step.restMillivolts", 537, 21, 0, 6000};
static const field f_load = {"step.loadMillivolts", 537, 21, 0, 6000};
static const field f_burst = {"step.burstMilliamperes", 537, 21, 1, 5000};

static const field f_relay = {"relay", 538, 16, NO_RANGE};
static const field f_heard = {"heardUptimeSeconds", 539, 17, COUNT};
static const field f_relay_uptime = {"relayUptimeSeconds", 540, 18, COUNT};
static const field f_link = {"link", 541, 19, 0, 2};
static const field f_relay_signal = {"signalDecibelMilliwatts", 542, 20, -140, 0};

static const field f_tested_at = {"atUptimeSeconds", 543, 16, COUNT};
static const field f_passed = {"passed", 547, 17, NO_RANGE};
static const field f_test_rows = {"rows", 544, 18, 2, 64};
static const field f_test_columns = {"columns", 544, 19, 2, 64};
static const field f_tested = {"cellsTested", 544, 20, 0, 4096};
static const field f_failed = {"cellsFailed", 545, 21, 0, 4096};
static const field f_failed_cells = {"failedCells", 545, 22, 0, 4095};
static const field f_failed_rows = {"failedRows", 546, 23, 0, 63};
static const field f_failed_columns = {"failedColumns", 546, 24, 0, 63};
static const field f_test_command = {"command", 548, 25, NO_RANGE};

static const field f_given = {"givenUptimeSeconds", 549, 16, COUNT};
static const field f_prompt_plan = {"planVersion", 550, 17, COUNT};
static const field f_followed_by = {"followedBySequence", 551, 18, COUNT};

static const field f_notice = {"notice", 552, 16, 0, 0};
static const field f_due = {"dueUnixSeconds", 553, 17, COUNT};

static const field f_result_command = {"command", 554, 16, NO_RANGE};
static const field f_state = {"state", 555, 17, 0, 3};
static const field f_reason = {"reason", 556, 18, 0, 5};
static const field f_result_at = {"atUptimeSeconds", 558, 19, COUNT};
static const field f_detail = {"detail", 557, 20, NO_RANGE};

static const field f_request = {"request", 559, 16, NO_RANGE};
static const field f_renewal_command = {"command", 560, 17, NO_RANGE};

static const field f_stored = {"stored", 701, 16, NO_RANGE};
static const field f_stored_entry = {"stored", 702, 16, NO_RANGE};
static const field f_stored_boot = {"stored.boot", 702, 16, COUNT};
static const field f_through = {"stored.through", 702, 16, COUNT};
static const field f_holes = {"stored.holes", 703, 16, COUNT};
static const field f_server_time = {"serverUnixSeconds", 704, 17, COUNT};

static const field f_plan_version = {"plan version", 705, 16, COUNT};
static const field f_interval = {"intervalMinutes", 706, 17, 1, 1440};
static const field f_plan_hold = {"holdSeconds", 706, 18, 1, 3600};
static const field f_kinds = {"kinds", 707, 19, 0, 4};

static const field f_id = {"id", 710, 16, NO_RANGE};
static const field f_expires = {"expiresUnixSeconds", 711, 17, COUNT};
static const field f_action = {"action", 712, 18, 0, 6};
static const field f_command_plan = {"planVersion", 713, 19, COUNT};

static const field f_renewal = {"renewal", 714, 16, NO_RANGE};
static const field f_renewal_boot = {"renewal.boot", 714, 16, COUNT};
static const field f_renewal_sequence = {"renewal.sequence", 714, 16, COUNT};
static const field f_chain = {"chain", 715, 17, NO_RANGE};

/* The first refusal counts; what is read after it counts for nothing. */
static void refuse(cushion_refusal *why, uint16_t clause, const char *name) {
  if (why->clause != 0) return;
  why->clause = clause;
  why->field = name;
}

static void refuse_field(cushion_refusal *why, const field *f) { refuse(why, f->clause, f->name); }

static bool in_range(const field *f, int64_t value) { return value >= f->low && value <= (int64_t)f->high; }

/* ---- what no single entry shows: the same for reading and for writing ---- */

static void check_later(cushion_refusal *why, const field *f, uint64_t happened, const cushion_envelope *e) {
  if (happened > e->uptime) refuse_field(why, f);
}

static void check_hello(cushion_refusal *why, const cushion_hello *m, const cushion_envelope *e) {
  if (!m->has_oldest_unsent) return;
  if (m->oldest_unsent.boot > e->boot ||
      (m->oldest_unsent.boot == e->boot && m->oldest_unsent.sequence > e->sequence))
    refuse_field(why, &f_oldest);
}

static void check_relief(cushion_refusal *why, const cushion_relief *m, const cushion_envelope *e) {
  if (m->complete && m->has_broken_off) refuse_field(why, &f_broken_off);
  check_later(why, &f_start, m->start_uptime, e);
}

static void check_frame(cushion_refusal *why, const cushion_frame *m, const cushion_envelope *e) {
  check_later(why, &f_taken, m->taken_uptime, e);
  if (m->cells.length != (size_t)m->rows * m->columns) refuse_field(why, &f_cells);
}

static void check_fault(cushion_refusal *why, const cushion_fault *m, const cushion_envelope *e) {
  check_later(why, &f_fault_at, m->at_uptime, e);
  if (m->has_lost != (m->fault == CUSHION_STORE_OVERRUN)) refuse_field(why, &f_lost);
  if (m->has_lost && m->lost_from > m->lost_to) refuse_field(why, &f_lost);
}

static void check_power(cushion_refusal *why, const cushion_power *m, const cushion_envelope *e) {
  check_later(why, &f_power_at, m->at_uptime, e);
  if (m->has_ended != (m->event == CUSHION_CHARGE_END)) refuse_field(why, &f_ended);
  if (!m->has_step && m->event == CUSHION_VOLTAGE_STEP) refuse_field(why, &f_step);
}

static bool lines_ascend(const uint8_t *lines, unsigned count, unsigned end) {
  for (unsigned at = 0; at < count; at++)
    if (lines[at] >= end || (at > 0 && lines[at] <= lines[at - 1])) return false;
  return true;
}

static bool cells_ascend(const uint16_t *cells, unsigned count, unsigned end) {
  for (unsigned at = 0; at < count; at++)
    if (cells[at] >= end || (at > 0 && cells[at] <= cells[at - 1])) return false;
  return true;
}

static void check_self_test(cushion_refusal *why, const cushion_self_test *m, const cushion_envelope *e) {
  const unsigned size = (unsigned)m->rows * m->columns;
  const unsigned listed = m->cells_failed < CUSHION_MAX_FAILED ? m->cells_failed : CUSHION_MAX_FAILED;
  check_later(why, &f_tested_at, m->at_uptime, e);
  if (m->cells_tested > size) refuse_field(why, &f_tested);
  if (m->cells_failed > m->cells_tested) refuse_field(why, &f_failed);
  if (m->listed_cells != listed || !cells_ascend(m->failed_cells, listed, size)) refuse_field(why, &f_failed_cells);
  if (m->failed_row_count > m->rows || !lines_ascend(m->failed_rows, m->failed_row_count, m->rows))
    refuse_field(why, &f_failed_rows);
  if (m->failed_column_count > m->columns || !lines_ascend(m->failed_columns, m->failed_column_count, m->columns))
    refuse_field(why, &f_failed_columns);
  if (m->passed && (m->cells_failed > 0 || m->failed_row_count > 0 || m->failed_column_count > 0))
    refuse_field(why, &f_passed);
}

static void check_prompt(cushion_refusal *why, const cushion_prompt *m, const cushion_envelope *e) {
  check_later(why, &f_given, m->given_uptime, e);
  if (m->followed && m->followed_by_sequence >= e->sequence) refuse_field(why, &f_followed_by);
}

static void check_result(cushion_refusal *why, const cushion_result *m, const cushion_envelope *e) {
  if (m->has_reason != (m->state == CUSHION_REFUSED)) refuse_field(why, &f_reason);
  check_later(why, &f_result_at, m->at_uptime, e);
}

static void check_der(cushion_refusal *why, const field *f, const cushion_bytes *der) {
  if (der->length < 1 || der->length > CUSHION_MAX_DER) refuse_field(why, f);
}

static void check_holes(cushion_refusal *why, const cushion_stored *m) {
  uint64_t clear = 0;
  if (m->hole_count > CUSHION_MAX_HOLES) {
    refuse_field(why, &f_holes);
    return;
  }
  for (unsigned at = 0; at < m->hole_count; at++) {
    const uint32_t from = m->holes[at][0];
    const uint32_t to = m->holes[at][1];
    if (from < clear || to < from || to >= m->through) refuse_field(why, &f_holes);
    clear = (uint64_t)to + 2;
  }
}

static void check_command(cushion_refusal *why, const cushion_command *m) {
  if (m->has_plan_version != (m->action == CUSHION_DO_PLAN)) refuse_field(why, &f_command_plan);
}

static void check_kinds(cushion_refusal *why, const cushion_plan *m) {
  unsigned seen = 0;
  if (m->kind_count < 1 || m->kind_count > CUSHION_RELIEF_KINDS) {
    refuse_field(why, &f_kinds);
    return;
  }
  for (unsigned at = 0; at < m->kind_count; at++) {
    if ((seen & (1u << m->kinds[at])) != 0) refuse_field(why, &f_kinds);
    seen |= 1u << m->kinds[at];
  }
}

static bool is_label(const char *text, size_t length) {
  if (length < 1 || length > LABEL_LENGTH) return false;
  for (size_t at = 0; at < length; at++)
    if (text[at] < 0x20 || text[at] > 0x7e) return false;
  return true;
}

static bool is_serial(const char *text, size_t length) {
  if (length < 3 || length > LABEL_LENGTH || text[0] == '-') return false;
  for (size_t at = 0; at < length; at++) {
    const char c = text[at];
    if (!((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-')) return false;
  }
  return true;
}

/* ---- bytes: section 3 of SPEC.md, over the whole payload before any of it is read ---- */

typedef struct {
  const uint8_t *bytes;
  size_t length;
  size_t at;
  uint16_t clause;
  bool foreign_key;
  uint16_t value_at[FUTURE_KEY]; /* where the value of each key of the message's own map lies; 0: absent */
} scan;

typedef struct {
  uint8_t major;
  uint8_t info;
  uint64_t argument;
} head;

static bool fail(scan *s, uint16_t clause) {
  s->clause = clause;
  return false;
}

static uint64_t big_endian(const uint8_t *bytes, size_t width) {
  uint64_t value = 0;
  for (size_t at = 0; at < width; at++) value = value << 8 | bytes[at];
  return value;
}

static bool scan_head(scan *s, head *h) {
  if (s->at >= s->length) return fail(s, NOT_WELL_FORMED);
  const uint8_t first = s->bytes[s->at];
  h->major = (uint8_t)(first >> 5);
  h->info = first & 0x1f;
  h->argument = h->info;
  if (h->info < 24) {
    s->at++;
    return true;
  }
  if (h->info == 31)
    return fail(s, h->major < BYTES || h->major == TAG || h->major == SIMPLE ? NOT_WELL_FORMED : INDEFINITE);
  if (h->info > 27) return fail(s, NOT_WELL_FORMED);
  const size_t width = (size_t)1 << (h->info - 24);
  if (width >= s->length - s->at) return fail(s, NOT_WELL_FORMED);
  h->argument = big_endian(s->bytes + s->at + 1, width);
  if (h->major != SIMPLE) {
    const uint64_t smallest = width == 1 ? 24 : (uint64_t)1 << (width * 4);
    if (h->argument < smallest) return fail(s, LONGER_FORM);
  }
  s->at += 1 + width;
  return true;
}

/* [FP-3.4] A float that a shorter one could hold, and any not-a-number but the one of two bytes, is too long. */
static bool single_is_shortest(uint32_t bits) {
  const int exponent = (int)(bits >> 23 & 0xff) - 127;
  const uint32_t significand = (bits & 0x7fffff) | 0x800000;
  if (exponent == 128) return false;
  if (exponent == -127) return (bits & 0x7fffff) != 0;
  if (exponent >= -14 && exponent <= 15) return (significand & 0x1fff) != 0;
  if (exponent >= -24 && exponent < -14) return (significand & (((uint32_t)1 << (-exponent - 1)) - 1)) != 0;
  return true;
}

static bool double_is_shortest(uint64_t bits) {
  const int exponent = (int)(bits >> 52 & 0x7ff) - 1023;
  const uint64_t fraction = bits & 0xfffffffffffff;
  const uint64_t significand = fraction | (uint64_t)1 << 52;
  if (exponent == 1024) return false;
  if (exponent == -1023) return fraction != 0;
  if (exponent >= -126 && exponent <= 127) return (significand & 0x1fffffff) != 0;
  if (exponent >= -149 && exponent < -126) return (significand & (((uint64_t)1 << (-exponent - 97)) - 1)) != 0;
  return true;
}

static bool scan_simple(scan *s, const head *h) {
  switch (h->info) {
    case 24:
      return h->argument >= 32 || fail(s, NOT_WELL_FORMED);
    case 25:
      return (h->argument & 0x7c00) != 0x7c00 || (h->argument & 0x3ff) == 0 || h->argument == 0x7e00 ||
             fail(s, LONGER_FORM);
    case 26:
      return single_is_shortest((uint32_t)h->argument) || fail(s, LONGER_FORM);
    case 27:
      return double_is_shortest(h->argument) || fail(s, LONGER_FORM);
    default:
      return true;
  }
}

/* [FP-3.8] RFC 3629: no overlong form, no surrogate, nothing above 10FFFF. */
static bool is_utf8(const uint8_t *bytes, size_t length) {
  size_t at = 0;
  while (at < length) {
    const uint8_t first = bytes[at];
    const size_t width = first < 0x80 ? 1 : first < 0xc2 ? 0 : first < 0xe0 ? 2 : first < 0xf0 ? 3 : first < 0xf5 ? 4 : 0;
    if (width == 0 || width > length - at) return false;
    for (size_t next = 1; next < width; next++)
      if ((bytes[at + next] & 0xc0) != 0x80) return false;
    if (first == 0xe0 && bytes[at + 1] < 0xa0) return false;
    if (first == 0xed && bytes[at + 1] > 0x9f) return false;
    if (first == 0xf0 && bytes[at + 1] < 0x90) return false;
    if (first == 0xf4 && bytes[at + 1] > 0x8f) return false;
    at += width;
  }
  return true;
}

static bool scan_string(scan *s, const head *h) {
  if (h->argument > s->length - s->at) return fail(s, NOT_WELL_FORMED);
  const size_t length = (size_t)h->argument;
  if (h->major == TEXT && !is_utf8(s->bytes + s->at, length)) return fail(s, NOT_UTF8);
  s->at += length;
  return true;
}

/* Order of two encoded keys, byte by byte. */
static int key_order(const scan *s, size_t one, size_t one_length, size_t other, size_t other_length) {
  const int order = memcmp(s->bytes + one, s->bytes + other, one_length < other_length ? one_length : other_length);
  if (order != 0 || one_length == other_length) return order;
  return one_length < other_length ? -1 : 1;
}

static bool scan_item(scan *s, unsigned depth);

static bool scan_map(scan *s, uint64_t entries, unsigned depth) {
  size_t before = 0;
  size_t before_length = 0;
  if (entries > (s->length - s->at) / 2) return fail(s, NOT_WELL_FORMED);
  for (; entries > 0; entries--) {
    const size_t key = s->at;
    if (!scan_item(s, depth + 1)) return false;
    const size_t length = s->at - key;
    if (before_length > 0) {
      const int order = key_order(s, before, before_length, key, length);
      if (order >= 0) return fail(s, order == 0 ? KEY_TWICE : KEY_ORDER);
    }
    before = key;
    before_length = length;
    const size_t value = s->at;
    if (!scan_item(s, depth + 1)) return false;
    if (depth > 0) continue;
    const uint8_t first = s->bytes[key];
    if (first >> 5 != UNSIGNED) s->foreign_key = true;
    else if (first < 24) s->value_at[first] = (uint16_t)value;
    else if (first == 24 && s->bytes[key + 1] < FUTURE_KEY) s->value_at[s->bytes[key + 1]] = (uint16_t)value;
  }
  return true;
}

/* Calls itself no more than MAX_DEPTH deep, whatever the bytes are. */
static bool scan_item(scan *s, unsigned depth) {
  head h;
  if (!scan_head(s, &h)) return false;
  if (h.major == UNSIGNED || h.major == NEGATIVE) return true;
  if (h.major == BYTES || h.major == TEXT) return scan_string(s, &h);
  if (h.major == SIMPLE) return scan_simple(s, &h);
  if (depth >= MAX_DEPTH) return fail(s, TOO_DEEP);
  if (h.major == MAP) return scan_map(s, h.argument, depth);
  if (h.major == TAG) return scan_item(s, depth + 1);
  if (h.argument > s->length - s->at) return fail(s, NOT_WELL_FORMED);
  for (uint64_t left = h.argument; left > 0; left--)
    if (!scan_item(s, depth + 1)) return false;
  return true;
}

/* ---- reading the entries of a payload that the scan has passed ---- */

typedef struct {
  const scan *in;
  uint64_t taken;
  cushion_refusal *why;
} reader;

static head head_at(const reader *r, size_t *at) {
  const uint8_t *bytes = r->in->bytes + *at;
  head h = {(uint8_t)(bytes[0] >> 5), bytes[0] & 0x1f, bytes[0] & 0x1f};
  size_t width = 0;
  if (h.info >= 24) {
    width = (size_t)1 << (h.info - 24);
    h.argument = big_endian(bytes + 1, width);
  }
  *at += 1 + width;
  return h;
}

static bool has(const reader *r, const field *f) { return r->in->value_at[f->key] != 0; }

/* Where a field's value lies; false where it is missing or something was refused before. */
static bool take(reader *r, const field *f, size_t *at) {
  r->taken |= (uint64_t)1 << f->key;
  *at = r->in->value_at[f->key];
  if (*at == 0) refuse(r->why, MISSING, f->name);
  return r->why->clause == 0;
}

static bool wrong_type(reader *r, const field *f) {
  refuse(r->why, WRONG_TYPE, f->name);
  return false;
}

/* An integer that lies at *at, and moves on past it; the lowest of its range where it is refused. */
static int64_t integer_at(reader *r, const field *f, size_t *at) {
  if (r->why->clause != 0) return f->low;
  const head h = head_at(r, at);
  if (h.major != UNSIGNED && h.major != NEGATIVE) {
    wrong_type(r, f);
    return f->low;
  }
  if (h.argument <= INT32_MAX || (h.major == UNSIGNED && h.argument <= UINT32_MAX)) {
    const int64_t value = h.major == UNSIGNED ? (int64_t)h.argument : -1 - (int64_t)h.argument;
    if (in_range(f, value)) return value;
  }
  refuse_field(r->why, f);
  return f->low;
}

static int64_t get_integer(reader *r, const field *f) {
  size_t at;
  return take(r, f, &at) ? integer_at(r, f, &at) : f->low;
}

static uint32_t get_count(reader *r, const field *f) { return (uint32_t)get_integer(r, f); }
static uint8_t get_small(reader *r, const field *f) { return (uint8_t)get_integer(r, f); }

static bool is_null_at(const reader *r, size_t at) { return r->in->bytes[at] == (SIMPLE << 5 | IS_NULL); }

static int64_t get_integer_or_null(reader *r, const field *f, bool *there) {
  size_t at;
  *there = false;
  if (!take(r, f, &at) || is_null_at(r, at)) return 0;
  *there = true;
  return integer_at(r, f, &at);
}

static bool get_flag(reader *r, const field *f) {
  size_t at;
  if (!take(r, f, &at)) return false;
  const uint8_t first = r->in->bytes[at];
  if (first == (SIMPLE << 5 | IS_TRUE)) return true;
  if (first != (SIMPLE << 5 | IS_FALSE)) refuse_field(r->why, f);
  return false;
}

static bool string_at(reader *r, const field *f, size_t *at, uint8_t major, cushion_bytes *out) {
  const head h = head_at(r, at);
  if (h.major != major) return wrong_type(r, f);
  out->at = r->in->bytes + *at;
  out->length = (size_t)h.argument;
  *at += out->length;
  return true;
}

static bool get_string(reader *r, const field *f, uint8_t major, cushion_bytes *out) {
  size_t at;
  out->at = r->in->bytes;
  out->length = 0;
  return take(r, f, &at) && string_at(r, f, &at, major, out);
}

static void get_text(reader *r, const field *f, char *out, bool (*allowed)(const char *, size_t)) {
  cushion_bytes text;
  out[0] = '\0';
  if (!get_string(r, f, TEXT, &text)) return;
  if (text.length <= LABEL_LENGTH) {
    memcpy(out, text.at, text.length);
    out[text.length] = '\0';
    if (allowed(out, text.length)) return;
  }
  refuse_field(r->why, f);
}

static void get_label(reader *r, const field *f, char *out) { get_text(r, f, out, is_label); }

static void get_optional_label(reader *r, const field *f, char *out) {
  out[0] = '\0';
  if (has(r, f)) get_label(r, f, out);
}

static bool list_at(reader *r, const field *f, size_t *at, uint64_t *length) {
  *length = 0;
  if (r->why->clause != 0) return false;
  const head h = head_at(r, at);
  if (h.major != LIST) return wrong_type(r, f);
  *length = h.argument;
  return true;
}

static bool get_list(reader *r, const field *f, size_t *at, uint64_t *length) {
  *length = 0;
  return take(r, f, at) && list_at(r, f, at, length);
}

/* A list of exactly so many entries, read next. */
static bool get_tuple(reader *r, const field *f, size_t *at, uint64_t length) {
  uint64_t found;
  if (!get_list(r, f, at, &found)) return false;
  if (found != length) refuse_field(r->why, f);
  return r->why->clause == 0;
}

static void read_envelope(reader *r, cushion_envelope *e) {
  get_text(r, &f_unit, e->unit, is_serial);
  e->boot = get_count(r, &f_boot);
  e->sequence = get_count(r, &f_sequence);
  e->uptime = get_count(r, &f_uptime);
  e->wall = (uint32_t)get_integer_or_null(r, &f_wall, &e->wall_known);
}

static void read_hello(reader *r, cushion_hello *m, const cushion_envelope *e) {
  size_t at;
  get_label(r, &f_firmware, m->firmware);
  get_label(r, &f_hardware, m->hardware);
  m->reset = get_small(r, &f_reset);
  m->rows = get_small(r, &f_hello_rows);
  m->columns = get_small(r, &f_hello_columns);
  m->pitch_millimetres = get_small(r, &f_pitch);
  m->queued = get_count(r, &f_queued);
  m->has_oldest_unsent = has(r, &f_oldest);
  if (m->has_oldest_unsent && get_tuple(r, &f_oldest, &at, 2)) {
    m->oldest_unsent.boot = (uint32_t)integer_at(r, &f_oldest_boot, &at);
    m->oldest_unsent.sequence = (uint32_t)integer_at(r, &f_oldest_sequence, &at);
  }
  m->store_capacity = has(r, &f_capacity) ? get_count(r, &f_capacity) : 0;
  m->has_certificate_not_after = has(r, &f_not_after);
  if (m->has_certificate_not_after) m->certificate_not_after = get_count(r, &f_not_after);
  get_optional_label(r, &f_hello_relay, m->relay);
  if (r->why->clause == 0) check_hello(r->why, m, e);
}

static bool relay_heard(uint8_t flags) { return (flags & 0x08) != 0; }

static void set_column(cushion_minute *m, unsigned column, int32_t value) {
  switch (column) {
    case LOAD: m->load_hectograms = (uint16_t)value; break;
    case RIGHT: m->centre_right_percent = (int8_t)value; break;
    case FRONT: m->centre_front_percent = (int8_t)value; break;
    case CELL: m->cell_millivolts = (uint16_t)value; break;
    case TEMPERATURE: m->temperature_decicelsius = (int16_t)value; break;
    case SIGNAL: m->signal_dbm = (int16_t)value; break;
    default: m->humidity_percent = (uint8_t)value; break;
  }
}

static int32_t column_of(const cushion_minute *m, unsigned column) {
  switch (column) {
    case LOAD: return m->load_hectograms;
    case RIGHT: return m->centre_right_percent;
    case FRONT: return m->centre_front_percent;
    case CELL: return m->cell_millivolts;
    case TEMPERATURE: return m->temperature_decicelsius;
    case SIGNAL: return m->signal_dbm;
    default: return m->humidity_percent;
  }
}

/* [FP-5.8] */
static void read_column(reader *r, unsigned column, const cushion_bytes *flags, size_t expected, cushion_minute *records,
                        size_t capacity) {
  const field *f = &f_column[column];
  const int32_t width = (int32_t)f->high - f->low;
  field entry = *f;
  uint64_t length;
  int64_t value = 0;
  size_t at;
  if (!get_list(r, f, &at, &length)) return;
  if (length != expected) {
    refuse(r->why, COLUMN_LENGTH, f->name);
    return;
  }
  for (size_t minute = 0; minute < flags->length; minute++) {
    if (column == SIGNAL && !relay_heard(flags->at[minute])) continue;
    value += integer_at(r, &entry, &at);
    if (r->why->clause != 0) return;
    if (!in_range(f, value)) {
      refuse_field(r->why, f);
      return;
    }
    entry.low = -width;
    entry.high = (uint32_t)width;
    if (minute < capacity) set_column(&records[minute], column, (int32_t)value);
  }
}

static void check_last_minute(cushion_refusal *why, uint32_t first, size_t count, const cushion_envelope *e) {
  check_later(why, &f_first, first + (uint64_t)60 * (count - 1), e);
}

static void read_minutes(reader *r, cushion_minutes *m, const cushion_envelope *e, cushion_minute *records,
                         size_t capacity) {
  cushion_bytes flags;
  size_t heard = 0;
  m->first_uptime = get_count(r, &f_first);
  if (!get_string(r, &f_flags, BYTES, &flags)) return;
  m->records = records;
  m->count = flags.length;
  if (flags.length < 1 || flags.length > CUSHION_MAX_MINUTES) {
    refuse_field(r->why, &f_flags);
    return;
  }
  for (size_t minute = 0; minute < flags.length; minute++) {
    const uint8_t bits = flags.at[minute];
    const uint8_t power = bits >> 1 & 3;
    if ((bits & 0xf0) != 0 || power > CUSHION_CHARGED) refuse_field(r->why, &f_flags);
    if (relay_heard(bits)) heard++;
    if (minute >= capacity) continue;
    const cushion_minute blank = {(bits & 1) != 0, relay_heard(bits), power, 0, 0, 0, 0, 0, 0, 0};
    records[minute] = blank;
  }
  check_last_minute(r->why, m->first_uptime, m->count, e);
  m->has_humidity = has(r, &f_column[HUMIDITY]);
  for (unsigned column = LOAD; column < COLUMNS; column++)
    if (column != HUMIDITY || m->has_humidity)
      read_column(r, column, &flags, column == SIGNAL ? heard : flags.length, records, capacity);
}

static void read_relief(reader *r, cushion_relief *m, const cushion_envelope *e) {
  size_t at;
  m->relief = get_small(r, &f_relief);
  m->start_uptime = get_count(r, &f_start);
  m->hold_seconds = (uint16_t)get_integer(r, &f_hold);
  m->depth_percent = get_small(r, &f_depth);
  m->complete = get_flag(r, &f_complete);
  m->prompted = get_flag(r, &f_prompted);
  m->has_broken_off = has(r, &f_broken_off);
  if (m->has_broken_off) m->broken_off = get_small(r, &f_broken_off);
  m->has_side_load = has(r, &f_side_load);
  if (m->has_side_load && get_tuple(r, &f_side_load, &at, 2)) {
    m->left_percent = (uint8_t)integer_at(r, &f_side_load, &at);
    m->right_percent = (uint8_t)integer_at(r, &f_side_load, &at);
  }
  check_relief(r->why, m, e);
}

static void read_frame(reader *r, cushion_frame *m, const cushion_envelope *e) {
  m->taken_uptime = get_count(r, &f_taken);
  m->loaded = get_flag(r, &f_loaded);
  m->rows = get_small(r, &f_frame_rows);
  m->columns = get_small(r, &f_frame_columns);
  m->temperature_decicelsius = (int16_t)get_integer(r, &f_frame_temperature);
  get_string(r, &f_cells, BYTES, &m->cells);
  check_frame(r->why, m, e);
}

static void read_fault(reader *r, cushion_fault *m, const cushion_envelope *e) {
  size_t at;
  m->fault = get_small(r, &f_fault);
  m->at_uptime = get_count(r, &f_fault_at);
  m->has_lost = take(r, &f_lost, &at) && !is_null_at(r, at);
  m->lost_from = m->lost_to = 0;
  if (m->has_lost && get_tuple(r, &f_lost, &at, 3)) {
    m->lost_boot = (uint32_t)integer_at(r, &f_lost_boot, &at);
    m->lost_from = (uint32_t)integer_at(r, &f_lost_from, &at);
    m->lost_to = (uint32_t)integer_at(r, &f_lost_to, &at);
  }
  m->value = (int32_t)get_integer_or_null(r, &f_value, &m->has_value);
  check_fault(r->why, m, e);
}

static void read_power(reader *r, cushion_power *m, const cushion_envelope *e) {
  size_t at;
  m->event = get_small(r, &f_event);
  m->at_uptime = get_count(r, &f_power_at);
  m->cell_millivolts = (uint16_t)get_integer(r, &f_power_cell);
  m->temperature_decicelsius = (int16_t)get_integer(r, &f_power_temperature);
  m->has_ended = has(r, &f_ended);
  if (m->has_ended) m->ended = get_small(r, &f_ended);
  m->has_step = has(r, &f_step);
  if (m->has_step && get_tuple(r, &f_step, &at, 3)) {
    m->rest_millivolts = (uint16_t)integer_at(r, &f_rest, &at);
    m->load_millivolts = (uint16_t)integer_at(r, &f_load, &at);
    m->burst_milliamperes = (uint16_t)integer_at(r, &f_burst, &at);
  }
  check_power(r->why, m, e);
}

static void read_relay(reader *r, cushion_relay *m, const cushion_envelope *e) {
  get_label(r, &f_relay, m->relay);
  m->heard_uptime = get_count(r, &f_heard);
  m->relay_uptime = (uint32_t)get_integer_or_null(r, &f_relay_uptime, &m->relay_uptime_known);
  m->link = get_small(r, &f_link);
  m->signal_dbm = (int16_t)get_integer(r, &f_relay_signal);
  check_later(r->why, &f_heard, m->heard_uptime, e);
}

/* At most 64 lines are kept; one more is counted, so that a longer list shows. */
static uint8_t read_lines(reader *r, const field *f, uint8_t *lines) {
  uint64_t length;
  size_t at;
  if (!get_list(r, f, &at, &length)) return 0;
  for (uint64_t line = 0; line < length; line++) {
    const uint8_t value = (uint8_t)integer_at(r, f, &at);
    if (line < CUSHION_MAX_LINES) lines[line] = value;
  }
  return (uint8_t)(length > CUSHION_MAX_LINES ? CUSHION_MAX_LINES + 1 : length);
}

static void read_self_test(reader *r, cushion_self_test *m, const cushion_envelope *e) {
  uint64_t length;
  size_t at;
  m->at_uptime = get_count(r, &f_tested_at);
  m->passed = get_flag(r, &f_passed);
  m->rows = get_small(r, &f_test_rows);
  m->columns = get_small(r, &f_test_columns);
  m->cells_tested = (uint16_t)get_integer(r, &f_tested);
  m->cells_failed = (uint16_t)get_integer(r, &f_failed);
  if (!get_list(r, &f_failed_cells, &at, &length)) return;
  for (uint64_t cell = 0; cell < length; cell++) {
    const uint16_t value = (uint16_t)integer_at(r, &f_failed_cells, &at);
    if (cell < CUSHION_MAX_FAILED) m->failed_cells[cell] = value;
  }
  m->listed_cells = (uint16_t)(length > CUSHION_MAX_FAILED ? CUSHION_MAX_FAILED + 1 : length);
  m->failed_row_count = read_lines(r, &f_failed_rows, m->failed_rows);
  m->failed_column_count = read_lines(r, &f_failed_columns, m->failed_columns);
  get_optional_label(r, &f_test_command, m->command);
  if (r->why->clause == 0) check_self_test(r->why, m, e);
}

static void read_prompt(reader *r, cushion_prompt *m, const cushion_envelope *e) {
  m->given_uptime = get_count(r, &f_given);
  m->plan_version = get_count(r, &f_prompt_plan);
  m->followed_by_sequence = (uint32_t)get_integer_or_null(r, &f_followed_by, &m->followed);
  check_prompt(r->why, m, e);
}

static void read_notice(reader *r, cushion_notice *m) {
  m->notice = get_small(r, &f_notice);
  m->due = get_count(r, &f_due);
}

static void read_result(reader *r, cushion_result *m, const cushion_envelope *e) {
  get_label(r, &f_result_command, m->command);
  m->state = get_small(r, &f_state);
  m->reason = (uint8_t)get_integer_or_null(r, &f_reason, &m->has_reason);
  m->at_uptime = get_count(r, &f_result_at);
  get_optional_label(r, &f_detail, m->detail);
  check_result(r->why, m, e);
}

static void read_renewal(reader *r, cushion_renewal *m) {
  get_string(r, &f_request, BYTES, &m->request);
  get_optional_label(r, &f_renewal_command, m->command);
  check_der(r->why, &f_request, &m->request);
}

static void read_holes(reader *r, cushion_stored *m, size_t *at) {
  uint64_t length;
  if (!list_at(r, &f_holes, at, &length)) return;
  for (uint64_t hole = 0; hole < length; hole++) {
    uint64_t edges;
    if (!list_at(r, &f_holes, at, &edges)) return;
    if (edges != 2) refuse_field(r->why, &f_holes);
    const uint32_t from = (uint32_t)integer_at(r, &f_holes, at);
    const uint32_t to = (uint32_t)integer_at(r, &f_holes, at);
    if (hole >= CUSHION_MAX_HOLES) continue;
    m->holes[hole][0] = from;
    m->holes[hole][1] = to;
  }
  m->hole_count = (uint8_t)(length > CUSHION_MAX_HOLES ? CUSHION_MAX_HOLES + 1 : length);
  if (r->why->clause == 0) check_holes(r->why, m);
}

static void read_receipt(reader *r, cushion_receipt *m) {
  uint64_t boots;
  size_t at;
  bool ascending = true;
  uint32_t before = 0;
  if (!get_list(r, &f_stored, &at, &boots)) return;
  for (uint64_t boot = 0; boot < boots; boot++) {
    uint64_t parts;
    cushion_stored *entry = &m->stored[boot < CUSHION_MAX_BOOTS ? boot : CUSHION_MAX_BOOTS - 1];
    if (!list_at(r, &f_stored, &at, &parts)) return;
    if (parts != 3) refuse_field(r->why, &f_stored_entry);
    entry->boot = (uint32_t)integer_at(r, &f_stored_boot, &at);
    entry->through = (uint32_t)integer_at(r, &f_through, &at);
    read_holes(r, entry, &at);
    if (boot > 0 && entry->boot <= before) ascending = false;
    before = entry->boot;
  }
  if (boots > CUSHION_MAX_BOOTS || !ascending) refuse_field(r->why, &f_stored);
  m->boot_count = (uint8_t)boots;
  m->server_time = get_count(r, &f_server_time);
}

static void read_plan(reader *r, cushion_plan *m) {
  uint64_t kinds;
  size_t at;
  m->version = get_count(r, &f_plan_version);
  m->interval_minutes = (uint16_t)get_integer(r, &f_interval);
  m->hold_seconds = (uint16_t)get_integer(r, &f_plan_hold);
  if (!get_list(r, &f_kinds, &at, &kinds)) return;
  for (uint64_t kind = 0; kind < kinds; kind++) {
    const uint8_t value = (uint8_t)integer_at(r, &f_kinds, &at);
    if (kind < CUSHION_RELIEF_KINDS) m->kinds[kind] = value;
  }
  m->kind_count = (uint8_t)(kinds > CUSHION_RELIEF_KINDS ? CUSHION_RELIEF_KINDS + 1 : kinds);
  if (r->why->clause == 0) check_kinds(r->why, m);
}

static void read_command(reader *r, cushion_command *m) {
  get_label(r, &f_id, m->id);
  m->expires = get_count(r, &f_expires);
  m->action = get_small(r, &f_action);
  m->has_plan_version = has(r, &f_command_plan);
  if (m->has_plan_version) m->plan_version = get_count(r, &f_command_plan);
  check_command(r->why, m);
}

static void read_certificate(reader *r, cushion_certificate *m) {
  uint64_t links;
  size_t at;
  bool sized = true;
  if (get_tuple(r, &f_renewal, &at, 2)) {
    m->renewal.boot = (uint32_t)integer_at(r, &f_renewal_boot, &at);
    m->renewal.sequence = (uint32_t)integer_at(r, &f_renewal_sequence, &at);
  }
  if (!get_list(r, &f_chain, &at, &links)) return;
  for (uint64_t link = 0; link < links; link++) {
    cushion_bytes der;
    if (!string_at(r, &f_chain, &at, BYTES, &der)) return;
    if (der.length < 1 || der.length > CUSHION_MAX_DER) sized = false;
    if (link < CUSHION_MAX_CHAIN) m->chain[link] = der;
  }
  if (links < 1 || links > CUSHION_MAX_CHAIN || !sized) refuse_field(r->why, &f_chain);
  m->chain_length = (uint8_t)links;
}

static void read_uplink_body(reader *r, cushion_message *m, cushion_minute *records, size_t capacity) {
  const cushion_envelope *e = &m->envelope;
  switch (m->kind) {
    case CUSHION_HELLO: read_hello(r, &m->body.hello, e); break;
    case CUSHION_MINUTES: read_minutes(r, &m->body.minutes, e, records, capacity); break;
    case CUSHION_RELIEF: read_relief(r, &m->body.relief, e); break;
    case CUSHION_FRAME: read_frame(r, &m->body.frame, e); break;
    case CUSHION_FAULT: read_fault(r, &m->body.fault, e); break;
    case CUSHION_POWER: read_power(r, &m->body.power, e); break;
    case CUSHION_RELAY: read_relay(r, &m->body.relay, e); break;
    case CUSHION_SELF_TEST: read_self_test(r, &m->body.self_test, e); break;
    case CUSHION_PROMPT: read_prompt(r, &m->body.prompt, e); break;
    case CUSHION_NOTICE: read_notice(r, &m->body.notice); break;
    case CUSHION_RESULT: read_result(r, &m->body.result, e); break;
    case CUSHION_RENEWAL: read_renewal(r, &m->body.renewal); break;
    default: refuse_field(r->why, &f_code); break;
  }
}

static void read_downlink_body(reader *r, cushion_message *m) {
  switch (m->kind) {
    case CUSHION_RECEIPT: read_receipt(r, &m->body.receipt); break;
    case CUSHION_PLAN: read_plan(r, &m->body.plan); break;
    case CUSHION_COMMAND: read_command(r, &m->body.command); break;
    case CUSHION_CERTIFICATE: read_certificate(r, &m->body.certificate); break;
    default: refuse_field(r->why, &f_code); break;
  }
}

/* [FP-4.9] */
static void refuse_unknown(reader *r) {
  for (uint8_t key = 0; key < FUTURE_KEY; key++) {
    if (r->in->value_at[key] == 0 || (r->taken >> key & 1) != 0) continue;
    if (r->why->clause == 0) r->why->key = key;
    refuse(r->why, UNKNOWN_KEY, "key");
  }
}

/* Section 3 over the whole payload. Whose it was may show even where it is refused: keys 0 to 6 come first. */
static bool scan_message(scan *s, const uint8_t *bytes, size_t length, size_t longest, cushion_refusal *why) {
  memset(s, 0, sizeof *s);
  memset(why, 0, sizeof *why);
  s->bytes = bytes;
  s->length = length;
  if (length > longest) {
    refuse(why, TOO_LONG, whole_message);
    return false;
  }
  if (scan_item(s, 0) && s->at < length) fail(s, NOT_WELL_FORMED);
  if (s->clause == 0 && (bytes[0] >> 5 != MAP || s->foreign_key)) fail(s, NOT_A_MAP);
  if (s->clause == 0) return true;
  reader r = {s, 0, why};
  read_envelope(&r, &why->envelope);
  why->has_envelope = why->clause == 0;
  why->clause = s->clause;
  why->field = whole_message;
  return false;
}

static uint32_t read_header(reader *r) {
  get_integer(r, &f_version);
  return get_count(r, &f_code);
}

bool cushion_decode_uplink(const uint8_t *bytes, size_t length, cushion_minute *records, size_t capacity,
                           cushion_message *message, cushion_refusal *refusal) {
  scan s;
  if (!scan_message(&s, bytes, length, CUSHION_MAX_UPLINK, refusal)) return false;
  reader r = {&s, 0, refusal};
  const uint32_t code = read_header(&r);
  const uint16_t header_clause = refusal->clause;
  const char *const header_field = refusal->field;
  refusal->clause = 0;
  read_envelope(&r, &message->envelope);
  refusal->has_envelope = refusal->clause == 0;
  refusal->envelope = message->envelope;
  if (header_clause != 0) {
    refusal->clause = header_clause;
    refusal->field = header_field;
  }
  if (refusal->clause != 0) return false;
  message->kind = (cushion_kind)(code < FUTURE_KEY ? code : 0);
  read_uplink_body(&r, message, records, capacity);
  refuse_unknown(&r);
  return refusal->clause == 0;
}

bool cushion_decode_downlink(const uint8_t *bytes, size_t length, cushion_message *message, cushion_refusal *refusal) {
  scan s;
  if (!scan_message(&s, bytes, length, CUSHION_MAX_DOWNLINK, refusal)) return false;
  reader r = {&s, 0, refusal};
  const uint32_t code = read_header(&r);
  if (refusal->clause != 0) return false;
  message->kind = (cushion_kind)(code <= CUSHION_CERTIFICATE ? code : 0);
  read_downlink_body(&r, message);
  refuse_unknown(&r);
  return refusal->clause == 0;
}

/* ---- writing ---- */

typedef struct {
  uint8_t *out;
  size_t capacity;
  size_t at;
  cushion_refusal *why;
} writer;

static void put_byte(writer *w, uint8_t byte) {
  if (w->at < w->capacity) w->out[w->at++] = byte;
  else refuse(w->why, TOO_LONG, whole_message);
}

/* No argument of this protocol is wider than 32 bits. */
static void put_head(writer *w, unsigned major, uint32_t argument) {
  const unsigned width = argument < 24 ? 0 : argument <= 0xff ? 1 : argument <= 0xffff ? 2 : 4;
  const unsigned info = width == 0 ? argument : width == 1 ? 24 : width == 2 ? 25 : 26;
  put_byte(w, (uint8_t)(major << 5 | info));
  for (unsigned left = width; left > 0; left--) put_byte(w, (uint8_t)(argument >> (8 * (left - 1))));
}

static void put_number(writer *w, int64_t value) {
  if (value >= 0) put_head(w, UNSIGNED, (uint32_t)value);
  else put_head(w, NEGATIVE, (uint32_t)(-1 - value));
}

static void put_key(writer *w, const field *f) { put_head(w, UNSIGNED, f->key); }

/* A number that stands within a list. */
static void put_item(writer *w, const field *f, int64_t value) {
  if (!in_range(f, value)) refuse_field(w->why, f);
  put_number(w, value);
}

static void put_integer(writer *w, const field *f, int64_t value) {
  put_key(w, f);
  put_item(w, f, value);
}

static void put_simple(writer *w, const field *f, unsigned value) {
  put_key(w, f);
  put_head(w, SIMPLE, value);
}

static void put_flag(writer *w, const field *f, bool value) { put_simple(w, f, value ? IS_TRUE : IS_FALSE); }

static void put_integer_or_null(writer *w, const field *f, bool there, int64_t value) {
  if (there) put_integer(w, f, value);
  else put_simple(w, f, IS_NULL);
}

static void put_list(writer *w, const field *f, uint32_t length) {
  put_key(w, f);
  put_head(w, LIST, length);
}

static void put_raw(writer *w, unsigned major, const uint8_t *bytes, size_t length) {
  if (length > CUSHION_MAX_UPLINK) {
    refuse(w->why, TOO_LONG, whole_message);
    return;
  }
  put_head(w, major, (uint32_t)length);
  for (size_t at = 0; at < length; at++) put_byte(w, bytes[at]);
}

static void put_bytes(writer *w, const field *f, const cushion_bytes *value) {
  put_key(w, f);
  put_raw(w, BYTES, value->at, value->length);
}

static void put_text(writer *w, const field *f, const char *text, bool (*allowed)(const char *, size_t)) {
  const char *const end = memchr(text, '\0', CUSHION_LABEL);
  const size_t length = end == NULL ? CUSHION_LABEL : (size_t)(end - text);
  if (!allowed(text, length)) refuse_field(w->why, f);
  put_key(w, f);
  put_head(w, TEXT, (uint32_t)length);
  for (size_t at = 0; at < length; at++) put_byte(w, (uint8_t)text[at]);
}

static void put_label(writer *w, const field *f, const char *text) { put_text(w, f, text, is_label); }

static void put_optional_label(writer *w, const field *f, const char *text) {
  if (text[0] != '\0') put_label(w, f, text);
}

static void begin(writer *w, const cushion_message *m, uint32_t body_entries) {
  const bool up = m->kind < FUTURE_KEY;
  put_head(w, MAP, body_entries + (up ? 7u : 2u));
  put_integer(w, &f_version, 1);
  put_integer(w, &f_code, (int64_t)m->kind);
  if (!up) return;
  put_text(w, &f_unit, m->envelope.unit, is_serial);
  put_integer(w, &f_boot, m->envelope.boot);
  put_integer(w, &f_sequence, m->envelope.sequence);
  put_integer(w, &f_uptime, m->envelope.uptime);
  put_integer_or_null(w, &f_wall, m->envelope.wall_known, m->envelope.wall);
}

static void write_hello(writer *w, const cushion_message *message) {
  const cushion_hello *m = &message->body.hello;
  check_hello(w->why, m, &message->envelope);
  begin(w, message, 7u + m->has_oldest_unsent + (m->store_capacity != 0) + m->has_certificate_not_after +
                        (m->relay[0] != '\0'));
  put_label(w, &f_firmware, m->firmware);
  put_label(w, &f_hardware, m->hardware);
  put_integer(w, &f_reset, m->reset);
  put_integer(w, &f_hello_rows, m->rows);
  put_integer(w, &f_hello_columns, m->columns);
  put_integer(w, &f_pitch, m->pitch_millimetres);
  put_integer(w, &f_queued, m->queued);
  if (m->has_oldest_unsent) {
    put_list(w, &f_oldest, 2);
    put_item(w, &f_oldest_boot, m->oldest_unsent.boot);
    put_item(w, &f_oldest_sequence, m->oldest_unsent.sequence);
  }
  if (m->store_capacity != 0) put_integer(w, &f_capacity, m->store_capacity);
  if (m->has_certificate_not_after) put_integer(w, &f_not_after, m->certificate_not_after);
  put_optional_label(w, &f_hello_relay, m->relay);
}

static void put_column(writer *w, unsigned column, const cushion_minutes *m, size_t entries) {
  const field *f = &f_column[column];
  int32_t before = 0;
  put_list(w, f, (uint32_t)entries);
  for (size_t minute = 0; minute < m->count; minute++) {
    if (column == SIGNAL && !m->records[minute].relay_heard) continue;
    const int32_t value = column_of(&m->records[minute], column);
    if (!in_range(f, value)) refuse_field(w->why, f);
    put_number(w, (int64_t)value - before);
    before = value;
  }
}

static void write_minutes(writer *w, const cushion_message *message) {
  const cushion_minutes *m = &message->body.minutes;
  size_t heard = 0;
  if (m->count < 1 || m->count > CUSHION_MAX_MINUTES) {
    refuse_field(w->why, &f_flags);
    return;
  }
  check_last_minute(w->why, m->first_uptime, m->count, &message->envelope);
  begin(w, message, 8u + m->has_humidity);
  put_integer(w, &f_first, m->first_uptime);
  put_key(w, &f_flags);
  put_head(w, BYTES, (uint32_t)m->count);
  for (size_t minute = 0; minute < m->count; minute++) {
    const cushion_minute *record = &m->records[minute];
    if (record->power > CUSHION_CHARGED) refuse_field(w->why, &f_flags);
    if (record->relay_heard) heard++;
    put_byte(w, (uint8_t)((record->loaded ? 1 : 0) | record->power << 1 | (record->relay_heard ? 8 : 0)));
  }
  for (unsigned column = LOAD; column < COLUMNS; column++)
    if (column != HUMIDITY || m->has_humidity) put_column(w, column, m, column == SIGNAL ? heard : m->count);
}

static void write_relief(writer *w, const cushion_message *message) {
  const cushion_relief *m = &message->body.relief;
  check_relief(w->why, m, &message->envelope);
  begin(w, message, 6u + m->has_broken_off + m->has_side_load);
  put_integer(w, &f_relief, m->relief);
  put_integer(w, &f_start, m->start_uptime);
  put_integer(w, &f_hold, m->hold_seconds);
  put_integer(w, &f_depth, m->depth_percent);
  put_flag(w, &f_complete, m->complete);
  put_flag(w, &f_prompted, m->prompted);
  if (m->has_broken_off) put_integer(w, &f_broken_off, m->broken_off);
  if (!m->has_side_load) return;
  put_list(w, &f_side_load, 2);
  put_item(w, &f_side_load, m->left_percent);
  put_item(w, &f_side_load, m->right_percent);
}

static void write_frame(writer *w, const cushion_message *message) {
  const cushion_frame *m = &message->body.frame;
  check_frame(w->why, m, &message->envelope);
  begin(w, message, 6);
  put_integer(w, &f_taken, m->taken_uptime);
  put_flag(w, &f_loaded, m->loaded);
  put_integer(w, &f_frame_rows, m->rows);
  put_integer(w, &f_frame_columns, m->columns);
  put_integer(w, &f_frame_temperature, m->temperature_decicelsius);
  put_bytes(w, &f_cells, &m->cells);
}

static void write_fault(writer *w, const cushion_message *message) {
  const cushion_fault *m = &message->body.fault;
  check_fault(w->why, m, &message->envelope);
  begin(w, message, 4);
  put_integer(w, &f_fault, m->fault);
  put_integer(w, &f_fault_at, m->at_uptime);
  if (m->has_lost) {
    put_list(w, &f_lost, 3);
    put_item(w, &f_lost_boot, m->lost_boot);
    put_item(w, &f_lost_from, m->lost_from);
    put_item(w, &f_lost_to, m->lost_to);
  } else {
    put_simple(w, &f_lost, IS_NULL);
  }
  put_integer_or_null(w, &f_value, m->has_value, m->value);
}

static void write_power(writer *w, const cushion_message *message) {
  const cushion_power *m = &message->body.power;
  check_power(w->why, m, &message->envelope);
  begin(w, message, 4u + m->has_ended + m->has_step);
  put_integer(w, &f_event, m->event);
  put_integer(w, &f_power_at, m->at_uptime);
  put_integer(w, &f_power_cell, m->cell_millivolts);
  put_integer(w, &f_power_temperature, m->temperature_decicelsius);
  if (m->has_ended) put_integer(w, &f_ended, m->ended);
  if (!m->has_step) return;
  put_list(w, &f_step, 3);
  put_item(w, &f_rest, m->rest_millivolts);
  put_item(w, &f_load, m->load_millivolts);
  put_item(w, &f_burst, m->burst_milliamperes);
}

static void write_relay(writer *w, const cushion_message *message) {
  const cushion_relay *m = &message->body.relay;
  check_later(w->why, &f_heard, m->heard_uptime, &message->envelope);
  begin(w, message, 5);
  put_label(w, &f_relay, m->relay);
  put_integer(w, &f_heard, m->heard_uptime);
  put_integer_or_null(w, &f_relay_uptime, m->relay_uptime_known, m->relay_uptime);
  put_integer(w, &f_link, m->link);
  put_integer(w, &f_relay_signal, m->signal_dbm);
}

static void put_lines(writer *w, const field *f, const uint8_t *lines, unsigned count) {
  put_list(w, f, count);
  for (unsigned line = 0; line < count; line++) put_item(w, f, lines[line]);
}

static void write_self_test(writer *w, const cushion_message *message) {
  const cushion_self_test *m = &message->body.self_test;
  /* Before anything is written: the counts of the lists could point past them. */
  if (!in_range(&f_test_rows, m->rows)) refuse_field(w->why, &f_test_rows);
  if (!in_range(&f_test_columns, m->columns)) refuse_field(w->why, &f_test_columns);
  check_self_test(w->why, m, &message->envelope);
  if (w->why->clause != 0) return;
  begin(w, message, 9u + (m->command[0] != '\0'));
  put_integer(w, &f_tested_at, m->at_uptime);
  put_flag(w, &f_passed, m->passed);
  put_integer(w, &f_test_rows, m->rows);
  put_integer(w, &f_test_columns, m->columns);
  put_integer(w, &f_tested, m->cells_tested);
  put_integer(w, &f_failed, m->cells_failed);
  put_list(w, &f_failed_cells, m->listed_cells);
  for (unsigned cell = 0; cell < m->listed_cells; cell++) put_item(w, &f_failed_cells, m->failed_cells[cell]);
  put_lines(w, &f_failed_rows, m->failed_rows, m->failed_row_count);
  put_lines(w, &f_failed_columns, m->failed_columns, m->failed_column_count);
  put_optional_label(w, &f_test_command, m->command);
}

static void write_prompt(writer *w, const cushion_message *message) {
  const cushion_prompt *m = &message->body.prompt;
  check_prompt(w->why, m, &message->envelope);
  begin(w, message, 3);
  put_integer(w, &f_given, m->given_uptime);
  put_integer(w, &f_prompt_plan, m->plan_version);
  put_integer_or_null(w, &f_followed_by, m->followed, m->followed_by_sequence);
}

static void write_notice(writer *w, const cushion_message *message) {
  begin(w, message, 2);
  put_integer(w, &f_notice, message->body.notice.notice);
  put_integer(w, &f_due, message->body.notice.due);
}

static void write_result(writer *w, const cushion_message *message) {
  const cushion_result *m = &message->body.result;
  check_result(w->why, m, &message->envelope);
  begin(w, message, 4u + (m->detail[0] != '\0'));
  put_label(w, &f_result_command, m->command);
  put_integer(w, &f_state, m->state);
  put_integer_or_null(w, &f_reason, m->has_reason, m->reason);
  put_integer(w, &f_result_at, m->at_uptime);
  put_optional_label(w, &f_detail, m->detail);
}

static void write_renewal(writer *w, const cushion_message *message) {
  const cushion_renewal *m = &message->body.renewal;
  check_der(w->why, &f_request, &m->request);
  begin(w, message, 1u + (m->command[0] != '\0'));
  put_bytes(w, &f_request, &m->request);
  put_optional_label(w, &f_renewal_command, m->command);
}

static void write_receipt(writer *w, const cushion_message *message) {
  const cushion_receipt *m = &message->body.receipt;
  if (m->boot_count > CUSHION_MAX_BOOTS) {
    refuse_field(w->why, &f_stored);
    return;
  }
  begin(w, message, 2);
  put_list(w, &f_stored, m->boot_count);
  for (unsigned boot = 0; boot < m->boot_count; boot++) {
    const cushion_stored *entry = &m->stored[boot];
    if (boot > 0 && entry->boot <= m->stored[boot - 1].boot) refuse_field(w->why, &f_stored);
    check_holes(w->why, entry);
    if (w->why->clause != 0) return;
    put_head(w, LIST, 3);
    put_item(w, &f_stored_boot, entry->boot);
    put_item(w, &f_through, entry->through);
    put_head(w, LIST, entry->hole_count);
    for (unsigned hole = 0; hole < entry->hole_count; hole++) {
      put_head(w, LIST, 2);
      put_item(w, &f_holes, entry->holes[hole][0]);
      put_item(w, &f_holes, entry->holes[hole][1]);
    }
  }
  put_integer(w, &f_server_time, m->server_time);
}

static void write_plan(writer *w, const cushion_message *message) {
  const cushion_plan *m = &message->body.plan;
  const unsigned count = m->kind_count <= CUSHION_RELIEF_KINDS ? m->kind_count : 0;
  for (unsigned kind = 0; kind < count; kind++)
    if (!in_range(&f_kinds, m->kinds[kind])) refuse_field(w->why, &f_kinds);
  if (w->why->clause == 0) check_kinds(w->why, m);
  begin(w, message, 4);
  put_integer(w, &f_plan_version, m->version);
  put_integer(w, &f_interval, m->interval_minutes);
  put_integer(w, &f_plan_hold, m->hold_seconds);
  put_lines(w, &f_kinds, m->kinds, count);
}

static void write_command(writer *w, const cushion_message *message) {
  const cushion_command *m = &message->body.command;
  check_command(w->why, m);
  begin(w, message, 3u + m->has_plan_version);
  put_label(w, &f_id, m->id);
  put_integer(w, &f_expires, m->expires);
  put_integer(w, &f_action, m->action);
  if (m->has_plan_version) put_integer(w, &f_command_plan, m->plan_version);
}

static void write_certificate(writer *w, const cushion_message *message) {
  const cushion_certificate *m = &message->body.certificate;
  if (m->chain_length < 1 || m->chain_length > CUSHION_MAX_CHAIN) {
    refuse_field(w->why, &f_chain);
    return;
  }
  begin(w, message, 2);
  put_list(w, &f_renewal, 2);
  put_item(w, &f_renewal_boot, m->renewal.boot);
  put_item(w, &f_renewal_sequence, m->renewal.sequence);
  put_list(w, &f_chain, m->chain_length);
  for (unsigned link = 0; link < m->chain_length; link++) {
    check_der(w->why, &f_chain, &m->chain[link]);
    put_raw(w, BYTES, m->chain[link].at, m->chain[link].length);
  }
}

static void write_body(writer *w, const cushion_message *m) {
  switch (m->kind) {
    case CUSHION_HELLO: write_hello(w, m); break;
    case CUSHION_MINUTES: write_minutes(w, m); break;
    case CUSHION_RELIEF: write_relief(w, m); break;
    case CUSHION_FRAME: write_frame(w, m); break;
    case CUSHION_FAULT: write_fault(w, m); break;
    case CUSHION_POWER: write_power(w, m); break;
    case CUSHION_RELAY: write_relay(w, m); break;
    case CUSHION_SELF_TEST: write_self_test(w, m); break;
    case CUSHION_PROMPT: write_prompt(w, m); break;
    case CUSHION_NOTICE: write_notice(w, m); break;
    case CUSHION_RESULT: write_result(w, m); break;
    case CUSHION_RENEWAL: write_renewal(w, m); break;
    case CUSHION_RECEIPT: write_receipt(w, m); break;
    case CUSHION_PLAN: write_plan(w, m); break;
    case CUSHION_COMMAND: write_command(w, m); break;
    case CUSHION_CERTIFICATE: write_certificate(w, m); break;
    default: refuse_field(w->why, &f_code); break;
  }
}

size_t cushion_encode(const cushion_message *message, uint8_t *out, size_t capacity, cushion_refusal *refusal) {
  const size_t longest = message->kind < FUTURE_KEY ? CUSHION_MAX_UPLINK : CUSHION_MAX_DOWNLINK;
  memset(refusal, 0, sizeof *refusal);
  writer w = {out, capacity < longest ? capacity : longest, 0, refusal};
  write_body(&w, message);
  return refusal->clause == 0 ? w.at : 0;
}

bool cushion_may_forget(const cushion_receipt *receipt, uint32_t boot, uint32_t sequence) {
  for (unsigned at = 0; at < receipt->boot_count; at++) {
    const cushion_stored *entry = &receipt->stored[at];
    if (entry->boot != boot) continue;
    if (sequence > entry->through) return false;
    for (unsigned hole = 0; hole < entry->hole_count; hole++)
      if (sequence >= entry->holes[hole][0] && sequence <= entry->holes[hole][1]) return false;
    return true;
  }
  return false;
}

/* ---- a log file: section 15 of SPEC.md ---- */

#define LOG_CODE 128 /* [FP-15.2] */

size_t cushion_log_header(const char unit[CUSHION_LABEL], uint8_t *out, size_t capacity) {
  cushion_refusal refusal;
  memset(&refusal, 0, sizeof refusal);
  writer w = {out, capacity, 0, &refusal};
  put_head(&w, MAP, 3);
  put_integer(&w, &f_version, 1);
  put_integer(&w, &f_code, LOG_CODE);
  put_text(&w, &f_unit, unit, is_serial);
  return refusal.clause == 0 ? w.at : 0;
}

/* CRC-32 of ISO/IEC 8802-3, bit by bit: a table would cost a kilobyte, and a cable is slow. */
static uint32_t crc32_of(const uint8_t *bytes, size_t length) {
  uint32_t crc = 0xffffffffu;
  for (size_t at = 0; at < length; at++) {
    crc ^= bytes[at];
    for (unsigned bit = 0; bit < 8; bit++) crc = (crc >> 1) ^ ((crc & 1u) != 0 ? 0xedb88320u : 0u);
  }
  return ~crc;
}

size_t cushion_log_record(const uint8_t *payload, size_t length, uint8_t *out, size_t capacity) {
  cushion_refusal refusal;
  memset(&refusal, 0, sizeof refusal);
  if (length == 0) return 0;
  writer w = {out, capacity, 0, &refusal};
  put_head(&w, LIST, 2);
  put_raw(&w, BYTES, payload, length);
  put_head(&w, UNSIGNED, crc32_of(payload, length));
  return refusal.clause == 0 ? w.at : 0;
}
