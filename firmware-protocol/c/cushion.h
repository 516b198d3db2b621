/* Messages of the cushion protocol, version 1, in C99: no heap, no dependencies, bounded stack.
 * SPEC.md beside this folder rules; clause numbers below are its own. Times are seconds of uptime unless named otherwise.
 *
 * A unit writes with cushion_encode and reads with cushion_decode_downlink. The other two directions are here as well, so
 * that a test bench can play the server. */
#ifndef CUSHION_H
#define CUSHION_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CUSHION_MAX_UPLINK 16384u   /* [FP-3.2] */
#define CUSHION_MAX_DOWNLINK 4096u  /* [FP-3.2] */
#define CUSHION_MAX_MINUTES 1440u   /* [FP-5.7] */
#define CUSHION_MAX_FAILED 256u     /* [FP-5.45] */
#define CUSHION_MAX_LINES 64u       /* [FP-5.46] */
#define CUSHION_MAX_BOOTS 8u        /* [FP-7.1] */
#define CUSHION_MAX_HOLES 32u       /* [FP-7.3] */
#define CUSHION_MAX_CHAIN 4u        /* [FP-7.15] */
#define CUSHION_MAX_DER 2048u       /* [FP-5.59] [FP-7.15] */
#define CUSHION_RELIEF_KINDS 5u
#define CUSHION_LABEL 33u           /* 32 characters and the closing zero */

/* [FP-4.2] */
typedef enum {
  CUSHION_HELLO = 1,
  CUSHION_MINUTES = 2,
  CUSHION_RELIEF = 3,
  CUSHION_FRAME = 4,
  CUSHION_FAULT = 5,
  CUSHION_POWER = 6,
  CUSHION_RELAY = 7,
  CUSHION_SELF_TEST = 8,
  CUSHION_PROMPT = 9,
  CUSHION_NOTICE = 10,
  CUSHION_RESULT = 11,
  CUSHION_RENEWAL = 12,
  CUSHION_RECEIPT = 64,
  CUSHION_PLAN = 65,
  CUSHION_COMMAND = 66,
  CUSHION_CERTIFICATE = 67
} cushion_kind;

/* Codes: each enumeration stands in the order of its table in SPEC.md. */
enum { CUSHION_RESET_POWER_ON, CUSHION_RESET_BROWN_OUT, CUSHION_RESET_WATCHDOG, CUSHION_RESET_SOFTWARE,
       CUSHION_RESET_USER_OFF, CUSHION_RESET_UNKNOWN };
enum { CUSHION_ON_BATTERY, CUSHION_CHARGING, CUSHION_CHARGED };
enum { CUSHION_LIFT, CUSHION_LEAN_LEFT, CUSHION_LEAN_RIGHT, CUSHION_LEAN_FORWARD, CUSHION_TILT };
enum { CUSHION_SAT_BACK, CUSHION_GOT_UP, CUSHION_OTHER_RELIEF, CUSHION_POWER_LOST, CUSHION_BROKEN_OFF_UNKNOWN };
enum { CUSHION_BATTERY_CUT_OFF, CUSHION_CHARGE_TOO_HOT, CUSHION_CHARGE_TOO_COLD, CUSHION_CELL_HOT,
       CUSHION_GRID_SELF_TEST, CUSHION_STORE_OVERRUN, CUSHION_CLOCK_LOST, CUSHION_WET };
enum { CUSHION_CHARGE_START, CUSHION_CHARGE_END, CUSHION_CUT_OFF, CUSHION_TOO_HOT, CUSHION_TOO_COLD,
       CUSHION_VOLTAGE_STEP };
enum { CUSHION_CHARGE_FULL, CUSHION_CHARGE_INTERRUPTED };
enum { CUSHION_LINK_UP, CUSHION_LINK_DOWN, CUSHION_LINK_NOT_TOLD };
enum { CUSHION_CERTIFICATE_EXPIRES };
enum { CUSHION_ACCEPTED, CUSHION_DONE, CUSHION_REFUSED, CUSHION_EXPIRED };
enum { CUSHION_UNSUPPORTED, CUSHION_UNREADABLE, CUSHION_BUSY, CUSHION_BATTERY_LOW, CUSHION_SEAT_LOADED,
       CUSHION_FAILED };
enum { CUSHION_DO_PLAN, CUSHION_DO_FRAME, CUSHION_DO_SELF_TEST, CUSHION_DO_IDENTIFY, CUSHION_DO_REPORT,
       CUSHION_DO_RENEW_CERTIFICATE, CUSHION_DO_FORGET };

/* Bytes that lie elsewhere: after decoding, within the payload that was given. */
typedef struct {
  const uint8_t *at;
  size_t length;
} cushion_bytes;

typedef struct {
  uint32_t boot;
  uint32_t sequence;
} cushion_name;

typedef struct {
  char unit[CUSHION_LABEL];
  uint32_t boot;
  uint32_t sequence;
  uint32_t uptime;
  bool wall_known;
  uint32_t wall; /* Unix seconds, where known */
} cushion_envelope;

/* An optional text is absent where it is empty, any other optional entry where its has_ is false. */
typedef struct {
  char firmware[CUSHION_LABEL];
  char hardware[CUSHION_LABEL];
  uint8_t reset;
  uint8_t rows;
  uint8_t columns;
  uint8_t pitch_millimetres;
  uint32_t queued;
  bool has_oldest_unsent;
  cushion_name oldest_unsent;
  uint32_t store_capacity; /* messages; 0: absent */
  bool has_certificate_not_after;
  uint32_t certificate_not_after; /* Unix seconds */
  char relay[CUSHION_LABEL];
} cushion_hello;

typedef struct {
  bool loaded;
  bool relay_heard;
  uint8_t power;
  int8_t centre_right_percent;
  int8_t centre_front_percent;
  uint8_t humidity_percent;
  uint16_t load_hectograms;
  uint16_t cell_millivolts;
  int16_t temperature_decicelsius;
  int16_t signal_dbm; /* where a relay was heard */
} cushion_minute;

typedef struct {
  uint32_t first_uptime;
  cushion_minute *records; /* the caller's own */
  size_t count;            /* of the message, even where fewer were kept */
  bool has_humidity;
} cushion_minutes;

typedef struct {
  uint8_t relief;
  uint32_t start_uptime;
  uint16_t hold_seconds;
  uint8_t depth_percent;
  bool complete;
  bool prompted;
  bool has_broken_off;
  uint8_t broken_off;
  bool has_side_load;
  uint8_t left_percent;
  uint8_t right_percent;
} cushion_relief;

typedef struct {
  uint32_t taken_uptime;
  bool loaded;
  uint8_t rows;
  uint8_t columns;
  int16_t temperature_decicelsius;
  cushion_bytes cells;
} cushion_frame;

typedef struct {
  uint8_t fault;
  uint32_t at_uptime;
  bool has_lost;
  uint32_t lost_boot;
  uint32_t lost_from;
  uint32_t lost_to;
  bool has_value;
  int32_t value;
} cushion_fault;

typedef struct {
  uint8_t event;
  uint32_t at_uptime;
  uint16_t cell_millivolts;
  int16_t temperature_decicelsius;
  bool has_ended;
  uint8_t ended;
  bool has_step;
  uint16_t rest_millivolts;
  uint16_t load_millivolts;
  uint16_t burst_milliamperes;
} cushion_power;

typedef struct {
  char relay[CUSHION_LABEL];
  uint32_t heard_uptime;
  bool relay_uptime_known;
  uint32_t relay_uptime;
  uint8_t link;
  int16_t signal_dbm;
} cushion_relay;

typedef struct {
  uint32_t at_uptime;
  bool passed;
  uint8_t rows;
  uint8_t columns;
  uint16_t cells_tested;
  uint16_t cells_failed;
  uint16_t listed_cells; /* how many stand in failed_cells */
  uint16_t failed_cells[CUSHION_MAX_FAILED];
  uint8_t failed_row_count;
  uint8_t failed_rows[CUSHION_MAX_LINES];
  uint8_t failed_column_count;
  uint8_t failed_columns[CUSHION_MAX_LINES];
  char command[CUSHION_LABEL];
} cushion_self_test;

typedef struct {
  uint32_t given_uptime;
  uint32_t plan_version;
  bool followed;
  uint32_t followed_by_sequence;
} cushion_prompt;

typedef struct {
  uint8_t notice;
  uint32_t due; /* Unix seconds */
} cushion_notice;

typedef struct {
  char command[CUSHION_LABEL];
  uint8_t state;
  bool has_reason;
  uint8_t reason;
  uint32_t at_uptime;
  char detail[CUSHION_LABEL];
} cushion_result;

typedef struct {
  cushion_bytes request; /* PKCS#10, DER */
  char command[CUSHION_LABEL];
} cushion_renewal;

typedef struct {
  uint32_t boot;
  uint32_t through;
  uint8_t hole_count;
  uint32_t holes[CUSHION_MAX_HOLES][2];
} cushion_stored;

typedef struct {
  uint8_t boot_count;
  cushion_stored stored[CUSHION_MAX_BOOTS];
  uint32_t server_time; /* Unix seconds */
} cushion_receipt;

typedef struct {
  uint32_t version;
  uint16_t interval_minutes;
  uint16_t hold_seconds;
  uint8_t kind_count;
  uint8_t kinds[CUSHION_RELIEF_KINDS];
} cushion_plan;

typedef struct {
  char id[CUSHION_LABEL];
  uint32_t expires; /* Unix seconds */
  uint8_t action;
  bool has_plan_version;
  uint32_t plan_version;
} cushion_command;

typedef struct {
  cushion_name renewal;
  uint8_t chain_length;
  cushion_bytes chain[CUSHION_MAX_CHAIN]; /* X.509, DER */
} cushion_certificate;

typedef struct {
  cushion_kind kind;
  cushion_envelope envelope; /* of what goes up */
  union {
    cushion_hello hello;
    cushion_minutes minutes;
    cushion_relief relief;
    cushion_frame frame;
    cushion_fault fault;
    cushion_power power;
    cushion_relay relay;
    cushion_self_test self_test;
    cushion_prompt prompt;
    cushion_notice notice;
    cushion_result result;
    cushion_renewal renewal;
    cushion_receipt receipt;
    cushion_plan plan;
    cushion_command command;
    cushion_certificate certificate;
  } body;
} cushion_message;

/* Why a message was refused: by clause FP-<clause / 100>.<clause % 100>, for the entry that field names. */
typedef struct {
  uint16_t clause; /* 0: not refused */
  uint8_t key;     /* which one, where field is "key" */
  const char *field;
  bool has_envelope; /* the sender can be told all the same */
  cushion_envelope envelope;
} cushion_refusal;

/* Both read whatever the bytes are, and no byte beyond them. Where they return false, *refusal says why and *message
 * holds nothing to go by. `records` takes the minutes of a minutes message, as far as `capacity` goes; it may be NULL
 * with a capacity of 0, and the minutes are then checked and not kept. */
bool cushion_decode_uplink(const uint8_t *bytes, size_t length, cushion_minute *records, size_t capacity,
                           cushion_message *message, cushion_refusal *refusal);
bool cushion_decode_downlink(const uint8_t *bytes, size_t length, cushion_message *message, cushion_refusal *refusal);

/* Writes the one encoding of a message. Returns its length, or 0 with *refusal saying what of the message breaks the
 * protocol. FP-3.2 stands for a message that is too long, for `capacity` or for any. */
size_t cushion_encode(const cushion_message *message, uint8_t *out, size_t capacity, cushion_refusal *refusal);

/* [FP-6.5] Whether a unit may forget the message of this boot and sequence on this receipt: the only ground there is. */
bool cushion_may_forget(const cushion_receipt *receipt, uint32_t boot, uint32_t sequence);

/* A log file over a cable (section 15): the header, then a record for each message the store keeps, oldest first, written
 * piece by piece. `payload` is what cushion_encode wrote. Both return the length, or 0: the serial is none, the payload
 * empty or too long, or `capacity` too small (a record is at most CUSHION_LOG_ROOM longer than its payload). */
#define CUSHION_LOG_ROOM 9u
size_t cushion_log_header(const char unit[CUSHION_LABEL], uint8_t *out, size_t capacity);
size_t cushion_log_record(const uint8_t *payload, size_t length, uint8_t *out, size_t capacity);

#endif
