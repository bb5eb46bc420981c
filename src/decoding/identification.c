/* identification.c - see drawbar/identity.h. */
#include "drawbar/identity.h"

#include <string.h>

#include "text/clean.h"

/* ISO 11783-7, SAE J1939-71: ends each field, also the last one. */
#define DELIMITER '*'

/* NMEA 2000 product information, from memory: version, product code, four texts, two numbers. */
#define INFORMATION_CODE 2u
#define INFORMATION_TEXTS 4u
#define INFORMATION_TEXT_BYTES 32u
#define INFORMATION_CODE_UNKNOWN 0xFFFF

/* Functionalities, ISO 11783-12, from memory: a byte FF, their count; of each its code, its
 * generation, the count of its option bytes, and these. */
#define FUNCTIONALITIES_HEAD 2u
#define FUNCTIONALITY_HEAD 3u

enum dbr_told_group dbr_told_group_of(uint32_t pgn)
{
    switch (pgn) {
    case DBR_PGN_ECU_IDENTIFICATION:
        return DBR_TOLD_ECU;
    case DBR_PGN_COMPONENT_IDENTIFICATION:
        return DBR_TOLD_COMPONENT;
    case DBR_PGN_SOFTWARE_IDENTIFICATION:
        return DBR_TOLD_SOFTWARE;
    case DBR_PGN_PRODUCT_IDENTIFICATION:
        return DBR_TOLD_PRODUCT;
    case DBR_PGN_FUNCTIONALITIES:
        return DBR_TOLD_FUNCTIONALITIES;
    case DBR_PGN_PRODUCT_INFORMATION:
        return DBR_TOLD_INFORMATION;
    default:
        return DBR_TOLD_GROUPS;
    }
}

/* How many fields a group defines. */
static size_t fields_of(enum dbr_told_group group)
{
    switch (group) {
    case DBR_TOLD_ECU:
        return DBR_ECU_HARDWARE + 1;
    case DBR_TOLD_COMPONENT:
        return DBR_COMPONENT_UNIT + 1;
    case DBR_TOLD_PRODUCT:
        return DBR_PRODUCT_MODEL + 1;
    case DBR_TOLD_SOFTWARE:
        return DBR_TOLD_FIELDS_MAX;
    case DBR_TOLD_INFORMATION:
        return INFORMATION_TEXTS;
    case DBR_TOLD_FUNCTIONALITIES:
    case DBR_TOLD_GROUPS:
        break;
    }
    return 0;
}

static void take_text(struct dbr_told *told, size_t most, const uint8_t *data, size_t length)
{
    if (told->text_count >= most) {
        told->beyond++;
        return;
    }
    char *text = told->texts[told->text_count++];
    if (!clean_told(text, DBR_TOLD_TEXT_MAX, data, length))
        told->cut = true;
}

/* Whether anything but padding is there: what follows the last delimiter may be a field. */
static bool says_something(const uint8_t *data, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (data[i] != 0x00 && data[i] != 0xFF && data[i] != ' ')
            return true;
    return false;
}

static void split(struct dbr_told *told, size_t most, const uint8_t *data, size_t length)
{
    while (length > 0) {
        const uint8_t *end = memchr(data, DELIMITER, length);
        size_t count = end ? (size_t)(end - data) : length;
        if (!end && !says_something(data, length))
            return;
        take_text(told, most, data, count);
        if (!end)
            return;
        data += count + 1;
        length -= count + 1;
    }
}

/* A text of fixed width ends with the first 00 or FF. */
static void take_fixed(struct dbr_told *told, const uint8_t *data, size_t length)
{
    size_t end = 0;

    while (end < length && data[end] != 0x00 && data[end] != 0xFF)
        end++;
    take_text(told, INFORMATION_TEXTS, data, end);
}

static void read_information(struct dbr_told *told, const uint8_t *data, size_t length)
{
    if (length < INFORMATION_CODE + 2)
        return;
    int32_t code = data[INFORMATION_CODE] | data[INFORMATION_CODE + 1] << 8;
    if (code != INFORMATION_CODE_UNKNOWN)
        told->product_code = code;
    size_t at = INFORMATION_CODE + 2;
    for (size_t i = 0; i < INFORMATION_TEXTS && at + INFORMATION_TEXT_BYTES <= length; i++) {
        take_fixed(told, data + at, INFORMATION_TEXT_BYTES);
        at += INFORMATION_TEXT_BYTES;
    }
}

/* As many as are announced and wholly there. */
static void read_functionalities(struct dbr_told *told, const uint8_t *data, size_t length)
{
    size_t announced = length >= FUNCTIONALITIES_HEAD ? data[1] : 0;
    size_t at = FUNCTIONALITIES_HEAD;

    for (size_t i = 0; i < announced && at + FUNCTIONALITY_HEAD <= length; i++) {
        size_t next = at + FUNCTIONALITY_HEAD + data[at + 2];
        if (next > length)
            return;
        if (told->functionality_count < DBR_FUNCTIONALITIES_MAX)
            told->functionalities[told->functionality_count++] =
                (struct dbr_functionality){data[at], data[at + 1]};
        else
            told->beyond++;
        at = next;
    }
}

static bool tells_something(const struct dbr_told *told)
{
    for (size_t i = 0; i < told->text_count; i++)
        if (told->texts[i][0] != '\0')
            return true;
    return told->functionality_count > 0 || told->product_code >= 0;
}

bool dbr_told_read(struct dbr_told *told, enum dbr_told_group group, const uint8_t *data,
                   size_t length)
{
    told->text_count = told->functionality_count = 0;
    told->cut = false;
    told->beyond = 0;
    told->product_code = -1;
    if (group == DBR_TOLD_INFORMATION)
        read_information(told, data, length);
    else if (group == DBR_TOLD_FUNCTIONALITIES)
        read_functionalities(told, data, length);
    else if (group == DBR_TOLD_SOFTWARE && length > 0)
        split(told, fields_of(group), data + 1, length - 1); /* byte 1 is the count of fields */
    else
        split(told, fields_of(group), data, length);
    return tells_something(told);
}

bool dbr_told_same(const struct dbr_told *a, const struct dbr_told *b)
{
    if (a->text_count != b->text_count || a->beyond != b->beyond ||
        a->product_code != b->product_code || a->functionality_count != b->functionality_count)
        return false;
    for (size_t i = 0; i < a->text_count; i++)
        if (strcmp(a->texts[i], b->texts[i]) != 0)
            return false;
    for (size_t i = 0; i < a->functionality_count; i++)
        if (a->functionalities[i].code != b->functionalities[i].code ||
            a->functionalities[i].generation != b->functionalities[i].generation)
            return false;
    return true;
}

const char *dbr_identity_text(const struct dbr_identity *identity, enum dbr_told_group group,
                              size_t field)
{
    const struct dbr_told *told = identity ? identity->told[group] : NULL;

    if (!told || field >= told->text_count || told->texts[field][0] == '\0')
        return NULL;
    return told->texts[field];
}

const char *dbr_identity_name(const struct dbr_identity *identity)
{
    static const struct {
        enum dbr_told_group group;
        size_t field;
    } order[] = {{DBR_TOLD_PRODUCT, DBR_PRODUCT_MODEL},
                 {DBR_TOLD_INFORMATION, DBR_INFORMATION_MODEL},
                 {DBR_TOLD_COMPONENT, DBR_COMPONENT_MODEL},
                 {DBR_TOLD_ECU, DBR_ECU_TYPE}};
    const char *name = NULL;

    if (identity && identity->designator[0] != '\0')
        return identity->designator;
    for (size_t i = 0; !name && i < sizeof order / sizeof order[0]; i++)
        name = dbr_identity_text(identity, order[i].group, order[i].field);
    return name;
}

/* ISO 11783-12; codes 3 to 6 from memory. */
const char *dbr_functionality_words(uint8_t code)
{
    static const char *const words[] = {
        "minimum control function",
        "virtual terminal (server)",
        "virtual terminal (client)",
        "auxiliary inputs (old form)",
        "auxiliary functions (old form)",
        "auxiliary inputs",
        "auxiliary functions",
        "task controller with totals (server)",
        "task controller with totals (client)",
        "task controller with positions (server)",
        "task controller with positions (client)",
        "task controller with sections (server)",
        "task controller with sections (client)",
        "tractor ECU (server)",
        "tractor ECU (client)",
        "tractor implement management (server)",
        "tractor implement management (client)",
        "file server (server)",
        "file server (client)",
    };

    return code < sizeof words / sizeof words[0] ? words[code] : NULL;
}
