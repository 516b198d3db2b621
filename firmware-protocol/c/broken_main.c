/* Messages that break the protocol in one place each, given to cushion_encode, with the clause and the entry by which it has
 * to refuse them. Each is written unbroken first and has to be accepted. Ends with 0 if so. */
#include <stdio.h>
#include <string.h>

#include "cushion.h"

static cushion_minute records[2];
static const uint8_t bytes[CUSHION_MAX_DER + 1] = {0x30};
static cushion_message m;
static int faults;
static int tried;

/* expected: the refusal, empty for none. */
static void encode(const char *expected) {
  static uint8_t out[CUSHION_MAX_UPLINK];
  char found[64] = "";
  cushion_refusal why;
  const size_t size = cushion_encode(&m, out, sizeof out, &why);
  if (size == 0) snprintf(found, sizeof found, "FP-%d.%d %s", why.clause / 100, why.clause % 100, why.field);
  tried++;
  if (strcmp(found, expected) == 0) return;
  faults++;
  printf("expected '%s', found '%s'\n", expected, found);
}

static void start(cushion_kind kind) {
  memset(&m, 0, sizeof m);
  m.kind = kind;
  strcpy(m.envelope.unit, "CU-4K7M2");
  m.envelope.boot = 12;
  m.envelope.sequence = 340;
  m.envelope.uptime = 86400;
  switch (kind) {
    case CUSHION_HELLO:
      strcpy(m.body.hello.firmware, "2.3.1");
      strcpy(m.body.hello.hardware, "C4");
      m.body.hello.rows = m.body.hello.columns = m.body.hello.pitch_millimetres = 16;
      break;
    case CUSHION_MINUTES:
      memset(records, 0, sizeof records);
      m.body.minutes.records = records;
      m.body.minutes.count = 2;
      break;
    case CUSHION_FRAME:
    case CUSHION_SELF_TEST:
      if (kind == CUSHION_SELF_TEST) {
        m.body.self_test.rows = m.body.self_test.columns = 2;
        break;
      }
      m.body.frame.rows = m.body.frame.columns = 2;
      m.body.frame.cells.at = bytes;
      m.body.frame.cells.length = 4;
      break;
    case CUSHION_RELAY: strcpy(m.body.relay.relay, "R-1"); break;
    case CUSHION_RESULT: strcpy(m.body.result.command, "c-1"); break;
    case CUSHION_RENEWAL:
      m.body.renewal.request.at = bytes;
      m.body.renewal.request.length = 9;
      break;
    case CUSHION_PLAN:
      m.body.plan.interval_minutes = m.body.plan.hold_seconds = 30;
      m.body.plan.kind_count = 1;
      break;
    case CUSHION_COMMAND:
      strcpy(m.body.command.id, "c-1");
      m.body.command.action = CUSHION_DO_FRAME;
      break;
    case CUSHION_CERTIFICATE:
      m.body.certificate.chain_length = 1;
      m.body.certificate.chain[0].at = bytes;
      m.body.certificate.chain[0].length = 9;
      break;
    default: break;
  }
}

/* The one change that breaks a message of this kind. */
#define BREAK(kind, change, expected) \
  do {                                \
    start(kind);                      \
    encode("");                       \
    change;                           \
    encode(expected);                 \
  } while (0)

static void envelopes(void) {
  BREAK(CUSHION_NOTICE, strcpy(m.envelope.unit, "cu/+"), "FP-4.3 unit");
  BREAK(CUSHION_NOTICE, memset(m.envelope.unit, 'A', sizeof m.envelope.unit), "FP-4.3 unit");
  BREAK(CUSHION_NOTICE, m.kind = (cushion_kind)63, "FP-4.2 message");
}

static void uplink(void) {
  BREAK(CUSHION_HELLO, m.body.hello.firmware[0] = '\0', "FP-5.1 firmware");
  BREAK(CUSHION_HELLO, m.body.hello.hardware[0] = '\n', "FP-5.1 hardware");
  BREAK(CUSHION_HELLO, m.body.hello.reset = 6, "FP-5.2 reset");
  BREAK(CUSHION_HELLO, m.body.hello.rows = 1, "FP-5.3 rows");
  BREAK(CUSHION_HELLO, m.body.hello.pitch_millimetres = 0, "FP-5.4 pitchMillimetres");
  BREAK(CUSHION_HELLO, (m.body.hello.has_oldest_unsent = true, m.body.hello.oldest_unsent.boot = 13),
        "FP-5.61 oldestUnsent");
  BREAK(CUSHION_HELLO, m.body.hello.relay[0] = '\x7f', "FP-5.64 relay");
  BREAK(CUSHION_MINUTES, m.body.minutes.count = 0, "FP-5.7 flags");
  BREAK(CUSHION_MINUTES, m.body.minutes.count = CUSHION_MAX_MINUTES + 1, "FP-5.7 flags");
  BREAK(CUSHION_MINUTES, m.body.minutes.first_uptime = 86341, "FP-5.6 firstUptimeSeconds");
  BREAK(CUSHION_MINUTES, records[1].power = 3, "FP-5.7 flags");
  BREAK(CUSHION_MINUTES, records[1].load_hectograms = 5001, "FP-5.9 loadHectograms");
  BREAK(CUSHION_MINUTES, records[1].centre_right_percent = 101, "FP-5.10 centreRightPercent");
  BREAK(CUSHION_MINUTES, records[1].centre_front_percent = -101, "FP-5.10 centreFrontPercent");
  BREAK(CUSHION_MINUTES, records[1].cell_millivolts = 6001, "FP-5.11 cellMillivolts");
  BREAK(CUSHION_MINUTES, records[1].temperature_decicelsius = -401, "FP-5.12 temperatureDecicelsius");
  BREAK(CUSHION_MINUTES, (records[1].relay_heard = true, records[1].signal_dbm = 1), "FP-5.13 signalDecibelMilliwatts");
  BREAK(CUSHION_MINUTES, (m.body.minutes.has_humidity = true, records[1].humidity_percent = 101),
        "FP-5.65 humidityPercent");
  BREAK(CUSHION_RELIEF, m.body.relief.relief = 5, "FP-5.14 relief");
  BREAK(CUSHION_RELIEF, m.body.relief.start_uptime = 86401, "FP-5.15 startUptimeSeconds");
  BREAK(CUSHION_RELIEF, m.body.relief.depth_percent = 101, "FP-5.17 depthPercent");
  BREAK(CUSHION_RELIEF, m.body.relief.complete = m.body.relief.has_broken_off = true, "FP-5.66 brokenOff");
  BREAK(CUSHION_RELIEF, (m.body.relief.has_side_load = true, m.body.relief.left_percent = 201),
        "FP-5.67 sideLoadPercent");
  BREAK(CUSHION_FRAME, m.body.frame.taken_uptime = 86401, "FP-5.19 takenUptimeSeconds");
  BREAK(CUSHION_FRAME, (m.body.frame.rows = 1, m.body.frame.columns = 4), "FP-5.20 rows");
  BREAK(CUSHION_FRAME, m.body.frame.temperature_decicelsius = 1251, "FP-5.21 temperatureDecicelsius");
  BREAK(CUSHION_FRAME, m.body.frame.cells.length = 5, "FP-5.22 cells");
  BREAK(CUSHION_FAULT, m.body.fault.fault = 8, "FP-5.23 fault");
  BREAK(CUSHION_FAULT, m.body.fault.at_uptime = 86401, "FP-5.24 atUptimeSeconds");
  BREAK(CUSHION_FAULT, m.body.fault.fault = CUSHION_STORE_OVERRUN, "FP-5.25 lost");
  BREAK(CUSHION_POWER, m.body.power.event = 6, "FP-5.33 event");
  BREAK(CUSHION_POWER, m.body.power.at_uptime = 86401, "FP-5.34 atUptimeSeconds");
  BREAK(CUSHION_POWER, m.body.power.cell_millivolts = 6001, "FP-5.35 cellMillivolts");
  BREAK(CUSHION_POWER, m.body.power.event = CUSHION_CHARGE_END, "FP-5.36 ended");
  BREAK(CUSHION_POWER, m.body.power.event = CUSHION_VOLTAGE_STEP, "FP-5.37 step");
  BREAK(CUSHION_POWER, m.body.power.has_step = true, "FP-5.37 step.burstMilliamperes");
  BREAK(CUSHION_RELAY, m.body.relay.relay[0] = '\0', "FP-5.38 relay");
  BREAK(CUSHION_RELAY, m.body.relay.heard_uptime = 86401, "FP-5.39 heardUptimeSeconds");
  BREAK(CUSHION_RELAY, m.body.relay.link = 3, "FP-5.41 link");
  BREAK(CUSHION_RELAY, m.body.relay.signal_dbm = -141, "FP-5.42 signalDecibelMilliwatts");
  BREAK(CUSHION_SELF_TEST, m.body.self_test.at_uptime = 86401, "FP-5.43 atUptimeSeconds");
  BREAK(CUSHION_SELF_TEST, m.body.self_test.rows = 65, "FP-5.44 rows");
  BREAK(CUSHION_SELF_TEST, m.body.self_test.cells_tested = 5, "FP-5.44 cellsTested");
  BREAK(CUSHION_SELF_TEST, m.body.self_test.cells_failed = 1, "FP-5.45 cellsFailed");
  BREAK(CUSHION_SELF_TEST, m.body.self_test.listed_cells = 1, "FP-5.45 failedCells");
  BREAK(CUSHION_SELF_TEST, m.body.self_test.failed_row_count = 200, "FP-5.46 failedRows");
  BREAK(CUSHION_SELF_TEST, (m.body.self_test.failed_column_count = 1, m.body.self_test.failed_columns[0] = 2),
        "FP-5.46 failedColumns");
  BREAK(CUSHION_SELF_TEST, (m.body.self_test.failed_column_count = 1, m.body.self_test.passed = true),
        "FP-5.47 passed");
  BREAK(CUSHION_PROMPT, m.body.prompt.given_uptime = 86401, "FP-5.49 givenUptimeSeconds");
  BREAK(CUSHION_PROMPT, (m.body.prompt.followed = true, m.body.prompt.followed_by_sequence = 340),
        "FP-5.51 followedBySequence");
  BREAK(CUSHION_NOTICE, m.body.notice.notice = 1, "FP-5.52 notice");
  BREAK(CUSHION_RESULT, m.body.result.command[0] = '\0', "FP-5.54 command");
  BREAK(CUSHION_RESULT, m.body.result.state = 4, "FP-5.55 state");
  BREAK(CUSHION_RESULT, m.body.result.state = CUSHION_REFUSED, "FP-5.56 reason");
  BREAK(CUSHION_RESULT, m.body.result.detail[0] = '\x1f', "FP-5.57 detail");
  BREAK(CUSHION_RESULT, m.body.result.at_uptime = 86401, "FP-5.58 atUptimeSeconds");
  BREAK(CUSHION_RENEWAL, m.body.renewal.request.length = 0, "FP-5.59 request");
  BREAK(CUSHION_RENEWAL, m.body.renewal.request.length = CUSHION_MAX_DER + 1, "FP-5.59 request");
}

static void downlink(void) {
  BREAK(CUSHION_RECEIPT, m.body.receipt.boot_count = CUSHION_MAX_BOOTS + 1, "FP-7.1 stored");
  BREAK(CUSHION_RECEIPT, m.body.receipt.boot_count = 2, "FP-7.1 stored");
  BREAK(CUSHION_RECEIPT, (m.body.receipt.boot_count = 1, m.body.receipt.stored[0].hole_count = 200),
        "FP-7.3 stored.holes");
  BREAK(CUSHION_RECEIPT, (m.body.receipt.boot_count = 1, m.body.receipt.stored[0].hole_count = 1),
        "FP-7.3 stored.holes");
  BREAK(CUSHION_PLAN, m.body.plan.interval_minutes = 1441, "FP-7.6 intervalMinutes");
  BREAK(CUSHION_PLAN, m.body.plan.hold_seconds = 0, "FP-7.6 holdSeconds");
  BREAK(CUSHION_PLAN, m.body.plan.kind_count = 0, "FP-7.7 kinds");
  BREAK(CUSHION_PLAN, m.body.plan.kind_count = 2, "FP-7.7 kinds");
  BREAK(CUSHION_PLAN, m.body.plan.kinds[0] = 200, "FP-7.7 kinds");
  BREAK(CUSHION_COMMAND, m.body.command.id[0] = '\0', "FP-7.10 id");
  BREAK(CUSHION_COMMAND, m.body.command.action = 7, "FP-7.12 action");
  BREAK(CUSHION_COMMAND, m.body.command.action = CUSHION_DO_PLAN, "FP-7.13 planVersion");
  BREAK(CUSHION_CERTIFICATE, m.body.certificate.chain_length = 0, "FP-7.15 chain");
  BREAK(CUSHION_CERTIFICATE, m.body.certificate.chain[0].length = 0, "FP-7.15 chain");
  BREAK(CUSHION_CERTIFICATE, (m.body.certificate.chain_length = 3, m.body.certificate.chain[1].at = bytes,
                              m.body.certificate.chain[2].at = bytes, m.body.certificate.chain[0].length =
                              m.body.certificate.chain[1].length = m.body.certificate.chain[2].length = CUSHION_MAX_DER),
        "FP-3.2 message");
}

int main(void) {
  envelopes();
  uplink();
  downlink();
  printf("%d tried, %d wrong\n", tried, faults);
  return faults == 0 ? 0 : 1;
}
