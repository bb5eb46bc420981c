/*
 * device.h - the description that an implement sends of itself: its elements, what each
 * measures and takes, and how its figures are shown.
 *
 * Source: ISO 11783-10 annex A (device descriptor object pool). Objects follow one
 * another, each with a tag of three letters:
 *
 *     DVC  the device: names, serial number, labels        DPD  process data
 *     DET  an element: device, boom, section, bin ...      DPT  a property: a constant
 *     DVP  a presentation: how a value is shown
 *
 *     device = dbr_device_parse(bytes, length, &layout);
 *     element = dbr_device_element(device, data.element);
 *     ... dbr_device_free(device);
 *
 * Version 4 of the standard adds an extended structure label at the end of the device
 * object, a length (0..32) and so many bytes. Which layout it is, the byte there tells:
 * the letter D, with which any next object begins, is 68 and no such length. Only where
 * nothing follows the told version decides.
 *
 * A description that breaks off or goes wrong gives what is whole, and `problems` say
 * what is wrong and where. What an unread rest may hold is not called missing. Every text is UTF-8:
 * what was none became U+FFFD.
 */
#ifndef DRAWBAR_DEVICE_H
#define DRAWBAR_DEVICE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/limits.h"

DBR_API_BEGIN

#define DBR_OBJECT_NONE 0xFFFFu      /* object id of nothing (ISO 11783-10 annex A) */
#define DBR_VERSION_UNKNOWN 0xFFu    /* nobody told a version */
#define DBR_LABEL_BYTES 7u           /* structure label, localization label */
#define DBR_EXTENDED_LABEL_MAX 32u   /* ISO 11783-10, version 4 */

enum dbr_object_kind {
    DBR_OBJECT_DEVICE,
    DBR_OBJECT_ELEMENT,
    DBR_OBJECT_PROCESS_DATA,
    DBR_OBJECT_PROPERTY,
    DBR_OBJECT_PRESENTATION,
    DBR_OBJECT_KINDS
};

/* Types of elements (ISO 11783-10). Others may occur. */
enum dbr_element_type {
    DBR_ELEMENT_DEVICE = 1,
    DBR_ELEMENT_FUNCTION = 2, /* a boom, say */
    DBR_ELEMENT_BIN = 3,
    DBR_ELEMENT_SECTION = 4,
    DBR_ELEMENT_UNIT = 5,
    DBR_ELEMENT_CONNECTOR = 6,
    DBR_ELEMENT_NAVIGATION = 7
};

/* Bits of `properties` and `triggers` of process data (ISO 11783-10). */
#define DBR_PROPERTY_DEFAULT 0x01u  /* belongs to the default set */
#define DBR_PROPERTY_SETTABLE 0x02u
#define DBR_PROPERTY_CONTROL 0x04u  /* control source; version 4 */
#define DBR_TRIGGER_TIME 0x01u
#define DBR_TRIGGER_DISTANCE 0x02u
#define DBR_TRIGGER_THRESHOLD 0x04u
#define DBR_TRIGGER_CHANGE 0x08u
#define DBR_TRIGGER_TOTAL 0x10u

struct dbr_device_object {
    enum dbr_object_kind kind;
    uint16_t id;      /* 0..65534, unique in the description; where an implement gave one
                         DBR_OBJECT_NONE, it is found by no id */
    size_t offset;    /* of its first byte */
    const char *text; /* designator; of a presentation, the unit. "" where it has none */

    /* element */
    uint8_t type;     /* enum dbr_element_type */
    uint16_t number;  /* 0..4095, as process data messages name it */
    uint16_t parent;  /* object id */
    bool loose;       /* its parents do not lead to the device: missing, or in a circle */
    size_t reference_count;
    const uint16_t *references; /* object ids of its process data and properties */

    /* process data, property */
    uint16_t ddi;
    uint8_t properties, triggers; /* process data */
    int32_t value;                /* property */
    uint16_t presentation;        /* object id; DBR_OBJECT_NONE */

    /* presentation: (raw + add) * scale */
    int32_t add;
    float scale;
    uint8_t decimals;
};

/* One list yields the kinds of problem and their words. */
#define DBR_POOL_PROBLEMS(X)                                                                       \
    X(CUT, "the description ends inside this object")                                              \
    X(UNKNOWN_TAG, "no known object begins here, and the rest cannot be read")                     \
    X(TOO_MANY, "more objects or references than are kept; the rest was not read")              \
    X(NO_DEVICE, "there is no device object (DVC)")                                                \
    X(SECOND_DEVICE, "this is a second device object; the first one counts")                       \
    X(DUPLICATE, "another object has its id; the first one counts")                                \
    X(ID_NONE, "its id is the one that means none: nothing can refer to it")                       \
    X(PARENT_MISSING, "its parent is not there")                                                   \
    X(PARENT_KIND, "its parent is neither a device nor an element")                                \
    X(PARENT_CYCLE, "its parents go round in a circle")                                            \
    X(REFERENCE_MISSING, "it refers to an object that is not there")                               \
    X(REFERENCE_KIND, "it refers to an object that is neither process data nor a property")        \
    X(PRESENTATION_MISSING, "its presentation is not there")                                       \
    X(SCALE, "its scale is no number")                                                             \
    X(NUMBER_TWICE, "another element has its number")                                              \
    X(TEXT_LONG, "a text in it is longer than the standard allows")                                \
    X(TEXT_BYTES, "a text in it holds bytes that are no characters")

enum dbr_pool_problem_kind {
#define DBR_POOL_PROBLEM_ENUM(name, words) DBR_POOL_##name,
    DBR_POOL_PROBLEMS(DBR_POOL_PROBLEM_ENUM)
#undef DBR_POOL_PROBLEM_ENUM
    DBR_POOL_PROBLEM_KINDS
};

struct dbr_pool_problem {
    enum dbr_pool_problem_kind kind;
    bool placed;               /* it has a place: offset and what stands there */
    size_t offset;             /* of the object's first byte */
    uint8_t tag[3];            /* what stands there; 0 beyond the end */
    uint16_t object;           /* its id; DBR_OBJECT_NONE where it was not read */
    uint16_t other;            /* the id that it names; DBR_OBJECT_NONE */
};

struct dbr_device {
    bool described;             /* a device object is there; else the next eight are empty */
    const char *designator, *software, *serial;
    uint64_t name;              /* NAME that the description gives */
    uint8_t structure_label[DBR_LABEL_BYTES];
    uint8_t localization_label[DBR_LABEL_BYTES];
    uint8_t extended_label_length;
    uint8_t extended_label[DBR_EXTENDED_LABEL_MAX];
    bool version_4;             /* layout: an extended label is there, if empty */
    bool complete;              /* all bytes came and were read, and a device object was there */
    size_t length, read;        /* bytes; up to where they were read as whole objects */
    size_t object_count;
    const struct dbr_device_object *objects; /* in their order */
    size_t problem_count;       /* kept */
    uint64_t problems_beyond;   /* further ones */
    struct dbr_pool_problem problems[DBR_POOL_PROBLEMS_MAX];
    struct dbr_device_own *own; /* the rest of its memory */
};

/* What is known of a description beside its bytes. */
struct dbr_pool_layout {
    uint8_t version;            /* told by technical capabilities; DBR_VERSION_UNKNOWN */
    size_t part_count;          /* it came in so many transfers; 0 is 1 */
    const size_t *part_starts;  /* offsets. An object of a later part replaces one of its id */
    bool broke_off;             /* more should have come: what it refers to may have been there */
};

/* Reads a description. Everything in it is its own. NULL: out of memory. */
struct dbr_device *dbr_device_parse(const uint8_t *data, size_t length,
                                    const struct dbr_pool_layout *layout);
void dbr_device_free(struct dbr_device *device);

/* Gives an object another designator (a change designator message). False: no such object, one
 * without designator, or out of memory. */
bool dbr_device_rename(struct dbr_device *device, uint16_t id, const uint8_t *text, size_t length);

/* An object by its id; an element by its number; NULL where there is none. */
const struct dbr_device_object *dbr_device_object(const struct dbr_device *device, uint16_t id);
const struct dbr_device_object *dbr_device_element(const struct dbr_device *device,
                                                   uint16_t number);

/* The process data or property of an element with a DDI; NULL where it lists none. */
const struct dbr_device_object *dbr_device_data(const struct dbr_device *device,
                                                const struct dbr_device_object *element,
                                                uint16_t ddi);

/* Whether any element lists process data with a DDI in a range. */
bool dbr_device_lists(const struct dbr_device *device, uint16_t first, uint16_t last);

/*
 * The working width of an element in metres, where its properties state it: its own (DDI 67, else
 * 70), else the sum of its children's. NAN where none is stated. What is process data may change,
 * and is not looked at.
 */
double dbr_device_width_m(const struct dbr_device *device,
                          const struct dbr_device_object *element);

/* A raw value as its presentation shows it, else by the DDI's resolution and unit, else raw. */
struct dbr_presented {
    double value;
    unsigned decimals; /* 0..9 */
    const char *unit;  /* "" where there is none; the device's or static */
};

struct dbr_presented dbr_device_present(const struct dbr_device *device,
                                        const struct dbr_device_object *data, int32_t raw);

/* "DVC", ...; "section", ..., NULL for a type that no standard defines. Static storage. */
const char *dbr_object_tag(enum dbr_object_kind kind);
const char *dbr_element_type_words(uint8_t type);

/* "process data object 12 (DPD, byte 405): the description ends inside this object". Returns out. */
const char *dbr_pool_problem_text(char *out, size_t size, const struct dbr_pool_problem *problem);

/* A label as letters where it consists of such, up to NULs, FFs and blanks at the end; else all of
 * it as hexadecimal digits after "0x". Returns out. */
const char *dbr_label_text(char *out, size_t size, const uint8_t *label, size_t length);

DBR_API_END

#endif
