/*
 * trouble_code.h - what ECUs say about their own faults: diagnostic messages (SAE J1939-73).
 *
 * DM1 lists the trouble codes that are active, DM2 those that were. Each code names
 * what is wrong (SPN, a suspect parameter number) and how (FMI, a failure mode):
 *
 *     if (dbr_trouble_list_open(&list, data, length))
 *         while (dbr_trouble_list_next(&list, &code))
 *             show(code.spn, dbr_fmi_words(code.fmi));
 *
 * Bits count from 1, least significant first, as the standard prints them:
 *
 *     byte 1     bits 8-7 malfunction, 6-5 red stop, 4-3 amber warning, 2-1 protect lamp
 *     byte 2     in the same order: how each lamp flashes
 *     bytes 3-6  a code: SPN bits 1-8; SPN bits 9-16; bits 8-6 SPN bits 17-19, bits 5-1 FMI;
 *                bit 8 conversion method, bits 7-1 occurrence count
 *     ...        further codes of 4 bytes; from two codes on the message takes several frames
 *
 * Source: SAE J1939-73 5.7 (messages, lamps, codes) and appendix A (failure modes), ISO 11783-7,
 * in our own words. Numbers of clauses are from memory; what else is says so.
 */
#ifndef DRAWBAR_TROUBLE_CODE_H
#define DRAWBAR_TROUBLE_CODE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/definitions.h"

DBR_API_BEGIN

/* Parameter groups, SAE J1939-73. */
#define DBR_PGN_DM1 65226u  /* active codes */
#define DBR_PGN_DM2 65227u  /* previously active codes */
#define DBR_PGN_DM3 65228u  /* to request it clears previously active codes */
#define DBR_PGN_DM11 65235u /* to request it clears active codes */
#define DBR_PGN_DM13 57088u /* to stop and start broadcasts */
#define DBR_PGN_DM22 49920u /* to clear one code */

/* Two bits in byte 1; the order is by position. */
enum dbr_lamp { DBR_LAMP_PROTECT, DBR_LAMP_AMBER, DBR_LAMP_RED, DBR_LAMP_MALFUNCTION, DBR_LAMPS };

enum dbr_lamp_state { /* as on the wire */
    DBR_LAMP_OFF,
    DBR_LAMP_ON,
    DBR_LAMP_ERROR,
    DBR_LAMP_NOT_AVAILABLE /* an ISO 11783 bus does not use lamps */
};

enum dbr_lamp_flash { /* as on the wire; rates from memory */
    DBR_FLASH_SLOW, /* 1 Hz */
    DBR_FLASH_FAST, /* 2 Hz */
    DBR_FLASH_RESERVED,
    DBR_FLASH_NONE /* does not flash, or not told */
};

struct dbr_lamps {
    enum dbr_lamp_state state[DBR_LAMPS];
    enum dbr_lamp_flash flash[DBR_LAMPS]; /* counts where the lamp is on */
};

#define DBR_OCCURRENCES_UNKNOWN 127u /* from memory */

struct dbr_trouble_code {
    uint32_t spn;     /* 0..524287, read in the current layout */
    uint8_t fmi;      /* 0..31 */
    bool older_layout; /* conversion method bit set: one of three older layouts, which one only
                          the maker knows (from memory): `spn` is not certain then */
    uint8_t count;    /* occurrences 0..126, or DBR_OCCURRENCES_UNKNOWN */
    uint8_t raw[4];   /* as sent */
};

/* A DM1 or DM2 that is being read. */
struct dbr_trouble_list {
    struct dbr_lamps lamps;
    bool told_none; /* SPN 0 with FMI 0 in the place of a code: the sender says "no fault" */
    size_t ragged;  /* bytes at the end that make no whole code and are no padding */
    const uint8_t *at, *end;
};

/*
 * Begins to read; false where the message is too short for lamps and one code (6 bytes), and
 * thus says nothing. `data` must live until the last code is read.
 */
bool dbr_trouble_list_open(struct dbr_trouble_list *list, const uint8_t *data, size_t length);

/*
 * The next code; false after the last. Bytes all FF, and "no fault", are no codes. A single
 * frame of 8 bytes holds one code and two bytes of padding.
 */
bool dbr_trouble_list_next(struct dbr_trouble_list *list, struct dbr_trouble_code *code);

/* DM13: what it asks of the bus on which it is sent (layout from memory). */
enum dbr_broadcast_order {
    DBR_BROADCAST_NOTHING,
    DBR_BROADCAST_STOP,
    DBR_BROADCAST_START,
    DBR_BROADCAST_HOLD /* stay as you are: sent every 5 s, or silence ends after 6 s */
};
enum dbr_broadcast_order dbr_broadcast_order_read(const uint8_t *data, size_t length);

/* DM22: one code to be cleared, and the answer (place of the code from memory). */
struct dbr_code_clear {
    bool active;   /* else previously active */
    bool request;  /* else an answer */
    bool done;     /* of an answer: positive */
    uint8_t reason; /* of a negative answer: 0 general, 1 access denied, 2 code unknown,
                       3 no longer previously active, 4 no longer active */
    struct dbr_trouble_code code;
};
bool dbr_code_clear_read(struct dbr_code_clear *clear, const uint8_t *data, size_t length);

/* SPNs with a meaning by their number. */
#define DBR_SPN_ADDRESS_FIRST 2000u /* 2000 + n: messages of the ECU at address n */
#define DBR_SPN_ADDRESS_LAST 2255u
#define DBR_SPN_MAKER_FIRST 516096u /* to the end: each maker's own (from memory) */
bool dbr_spn_is_address(uint32_t spn);
bool dbr_spn_is_maker(uint32_t spn);

/*
 * What an SPN stands for: a signal of the definitions (NULL: none) that has it, else out of a
 * list of those that occur in trouble codes only. NULL where it is not known, for a maker's own
 * and for 2000..2255. Lives as long as the definitions.
 */
const char *dbr_spn_words(const struct dbr_definitions *definitions, uint32_t spn);

/* A failure mode in words, "voltage low or short to ground"; static storage, never NULL. */
const char *dbr_fmi_words(uint8_t fmi);

/* "protect", "amber_warning", "red_stop", "malfunction"; "on", ... as in JSON. Static storage. */
const char *dbr_lamp_name(enum dbr_lamp lamp);
const char *dbr_lamp_state_name(enum dbr_lamp_state state);
const char *dbr_lamp_flash_name(enum dbr_lamp_flash flash);

DBR_API_END

#endif
