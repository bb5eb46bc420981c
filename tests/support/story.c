/* story.c - see story.h. */
#include "support/story.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct story {
    size_t count, capacity;
    struct dbr_frame *frames;
    const char *definitions; /* in addition to the built-in ones; NULL: none */
    const struct dbr_rig *rig;
    uint8_t interface; /* of what is told from here on */
};

struct story *story_new(void)
{
    return calloc(1, sizeof(struct story));
}

void story_define(struct story *s, const char *definitions)
{
    s->definitions = definitions;
}

void story_rig(struct story *s, const struct dbr_rig *rig)
{
    s->rig = rig;
}

void story_on(struct story *s, uint8_t interface)
{
    s->interface = interface;
}

uint32_t story_id(unsigned priority, uint32_t pgn, uint8_t destination, uint8_t source)
{
    bool broadcast = (pgn >> 8 & 0xFF) >= 240;
    return (uint32_t)priority << 26 | pgn << 8 | (broadcast ? 0u : (uint32_t)destination << 8) |
           source;
}

void story_raw(struct story *s, const struct dbr_frame *frame)
{
    if (s->count == s->capacity) {
        s->capacity = s->capacity ? 2 * s->capacity : 1024;
        s->frames = realloc(s->frames, s->capacity * sizeof *s->frames);
    }
    s->frames[s->count] = *frame;
    s->frames[s->count++].interface = s->interface;
}

static struct dbr_frame make_frame(double at, uint32_t id, uint8_t flags, const char *hex)
{
    struct dbr_frame frame = {.at_ns = (int64_t)(at * 1e9), .id = id, .flags = flags};

    for (; hex[0] && hex[1]; hex += 2) {
        unsigned byte;
        sscanf(hex, "%2x", &byte);
        frame.data[frame.length++] = (uint8_t)byte;
    }
    return frame;
}

void story_frame(struct story *s, double at, uint32_t id, const char *hex)
{
    struct dbr_frame frame = make_frame(at, id, DBR_FRAME_EXTENDED, hex);
    story_raw(s, &frame);
}

void story_error(struct story *s, double at, uint32_t classes, const char *hex)
{
    struct dbr_frame frame = make_frame(at, classes, DBR_FRAME_ERROR, hex);
    story_raw(s, &frame);
}

/* Small and the same in every run: a linear congruence (Knuth, TAOCP 2, 3.3.4, line 26). */
static double jitter(unsigned *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / (1 << 24) * 0.0005;
}

void story_every(struct story *s, uint32_t id, double period, double from, double to, filler *fill,
                 void *context)
{
    unsigned state = id;

    for (double t = from + jitter(&state) * 100; t < to; t += period) {
        struct dbr_frame frame = {.id = id, .flags = DBR_FRAME_EXTENDED, .length = 8};
        frame.at_ns = (int64_t)((t + jitter(&state)) * 1e9);
        if (fill(t, frame.data, context))
            story_raw(s, &frame);
    }
}

static bool fill_hex(double t, uint8_t data[8], void *context)
{
    struct dbr_frame frame = make_frame(t, 0, 0, context);
    memcpy(data, frame.data, 8);
    return true;
}

void story_beat(struct story *s, uint32_t id, double period, double from, double to,
                const char *hex)
{
    char copy[17];
    snprintf(copy, sizeof copy, "%s", hex);
    story_every(s, id, period, from, to, fill_hex, copy);
}

const char *story_value(unsigned element, unsigned ddi, unsigned value)
{
    const unsigned bytes[8] = {(element & 0xFu) << 4 | 3u, element >> 4, ddi, ddi >> 8,
                               value, value >> 8, value >> 16, value >> 24};
    static char hex[2 * 8 + 1];

    for (size_t i = 0; i < 8; i++)
        snprintf(hex + 2 * i, 3, "%02X", bytes[i] & 0xFFu);
    return hex;
}

void story_claim(struct story *s, double at, uint8_t address, uint64_t name)
{
    struct dbr_frame frame = {.at_ns = (int64_t)(at * 1e9),
                              .id = story_id(6, 60928, 255, address),
                              .flags = DBR_FRAME_EXTENDED,
                              .length = 8};
    for (unsigned i = 0; i < 8; i++)
        frame.data[i] = (uint8_t)(name >> (8 * i));
    story_raw(s, &frame);
}

void story_request(struct story *s, double at, uint8_t from, uint8_t to)
{
    story_frame(s, at, story_id(6, 59904, to, from), "00EE00");
}

struct speed_source {
    profile *drive;
    double scale;
    double metres, last_t;
};

static double travel(struct speed_source *source, double t)
{
    double mps = source->drive(t) * source->scale;

    source->metres += mps * (t - source->last_t);
    source->last_t = t;
    return mps;
}

static void put_le(uint8_t *out, uint64_t value, unsigned bytes)
{
    for (unsigned i = 0; i < bytes; i++)
        out[i] = (uint8_t)(value >> (8 * i));
}

/* 65096 and 65097: speed 1 mm/s, distance 1 mm, direction forward (ISO 11783-7). */
static bool fill_tractor(double t, uint8_t data[8], void *context)
{
    double mps = travel(context, t);
    struct speed_source *source = context;

    put_le(data, (uint64_t)lround(mps * 1000), 2);
    put_le(data + 2, (uint64_t)llround(source->metres * 1000), 4);
    data[6] = 0xFF;
    data[7] = 0xFD;
    return true;
}

/* 129026: speed over ground 0.01 m/s in bytes 5-6 (NMEA 2000). */
static bool fill_gnss(double t, uint8_t data[8], void *context)
{
    double mps = travel(context, t);

    memset(data, 0xFF, 8);
    put_le(data + 4, (uint64_t)lround(mps * 100), 2);
    return true;
}

/* Process data value of DDI 397, 1 mm/s, element 1 (ISO 11783-10, -11). */
static bool fill_axle(double t, uint8_t data[8], void *context)
{
    double mps = travel(context, t);

    put_le(data, 0x0013, 2);
    put_le(data + 2, 397, 2);
    put_le(data + 4, (uint64_t)lround(mps * 1000), 4);
    return true;
}

static void tell_speed(struct story *s, uint32_t id, double period, profile *drive, double scale,
                       double from, double to, filler *fill)
{
    struct speed_source source = {drive, scale, 0, from};
    story_every(s, id, period, from, to, fill, &source);
}

void story_wheel(struct story *s, uint8_t address, profile *drive, double scale, double from,
                 double to)
{
    tell_speed(s, story_id(3, 65096, 255, address), 0.1, drive, scale, from, to, fill_tractor);
}

void story_ground(struct story *s, uint8_t address, profile *drive, double scale, double from,
                  double to)
{
    tell_speed(s, story_id(3, 65097, 255, address), 0.1, drive, scale, from, to, fill_tractor);
}

void story_gnss(struct story *s, uint8_t address, profile *drive, double scale, double from,
                double to)
{
    tell_speed(s, story_id(2, 129026, 255, address), 0.25, drive, scale, from, to, fill_gnss);
}

void story_axle(struct story *s, uint8_t address, profile *drive, double scale, double from,
                double to)
{
    tell_speed(s, story_id(3, 51968, 247, address), 0.1, drive, scale, from, to, fill_axle);
}

double drive_field(double t)
{
    double speed = fmin((t - 5) * 0.5, 2.8);

    if (t > 80)
        speed = fmax(0, 2.8 - (t - 80));
    if (speed <= 0)
        return 0;
    return speed * (1 + 0.01 * sin(t * 0.7));
}

double drive_stand(double t)
{
    (void)t;
    return 0;
}

void story_background(struct story *s, double from, double to)
{
    story_beat(s, story_id(6, 65262, 255, 0), 0.05, from, to, "FFFFFFFFFFFFFFFF");
}

struct story *story_field(double axle_scale)
{
    struct story *s = story_new();

    story_background(s, 0, 90);
    story_claim(s, 0.1, 240, NAME_TRACTOR);
    story_claim(s, 0.2, 128, NAME_SPREADER);
    story_wheel(s, 240, drive_field, 1.03, 1, 90);
    story_ground(s, 240, drive_field, 1.0, 1, 90);
    story_gnss(s, 28, drive_field, 1.0, 1, 90);
    if (axle_scale >= 0)
        story_axle(s, 128, drive_field, axle_scale, 1, 90);
    return s;
}

static int by_time(const void *x, const void *y)
{
    const struct dbr_frame *a = x, *b = y;
    return (a->at_ns > b->at_ns) - (a->at_ns < b->at_ns);
}

static struct outcome *tell(struct story *s, enum dbr_time_base base)
{
    struct outcome *o = calloc(1, sizeof *o);
    struct dbr_tracking_options tracking = {.bitrate = 250000};
    struct dbr_diagnosis_options options = {.units = DBR_UNITS_METRIC, .rig = s->rig};
    size_t buses = 1;

    qsort(s->frames, s->count, sizeof *s->frames, by_time);
    for (size_t i = 0; base == DBR_TIME_NONE && i < s->count; i++)
        s->frames[i].at_ns = 0;
    for (size_t i = 0; i < s->count; i++)
        buses = s->frames[i].interface ? 2 : buses;
    o->info = (struct dbr_recording_info){.time_base = base,
                                          .frames = s->count,
                                          .interface_count = buses,
                                          .interfaces = {"can0", "can1"}};
    o->definitions = dbr_definitions_new(NULL);
    if (s->definitions && dbr_definitions_load_text(o->definitions, "story", s->definitions,
                                                    strlen(s->definitions), NULL) < 0)
        abort();
    o->tracking = dbr_tracking_new(o->definitions, &tracking, NULL);
    dbr_tracking_frames(o->tracking, s->frames, s->count);
    o->history = dbr_tracking_finish(o->tracking, &o->info, NULL);
    o->diagnosis = dbr_diagnosis_new(o->history, &o->info, &options, NULL);
    free(s->frames);
    free(s);
    return o;
}

struct outcome *story_tell(struct story *s)
{
    return tell(s, DBR_TIME_EPOCH);
}

struct outcome *story_tell_untimed(struct story *s)
{
    return tell(s, DBR_TIME_NONE);
}

void outcome_free(struct outcome *o)
{
    dbr_diagnosis_free(o->diagnosis);
    dbr_tracking_free(o->tracking);
    dbr_definitions_free(o->definitions);
    free(o);
}

const struct dbr_finding *outcome_finding(const struct outcome *o, const char *code, int address)
{
    for (size_t i = 0; i < o->diagnosis->finding_count; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        if (strcmp(f->code, code) == 0 && (address < 0 || f->address == address))
            return f;
    }
    return NULL;
}

bool outcome_has(const struct outcome *o, const char *code, int address)
{
    return outcome_finding(o, code, address) != NULL;
}

bool outcome_clean(const struct outcome *o)
{
    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        if (o->diagnosis->findings[i].severity > DBR_NOTE)
            return false;
    return true;
}

const char *outcome_codes(const struct outcome *o)
{
    static char text[2048];
    size_t used = 0;

    text[0] = '\0';
    for (size_t i = 0; i < o->diagnosis->finding_count && used < sizeof text; i++) {
        const struct dbr_finding *f = &o->diagnosis->findings[i];
        used += (size_t)snprintf(text + used, sizeof text - used, "%s(%d) %s; ", f->code,
                                 f->address, dbr_severity_name(f->severity));
    }
    return text;
}

bool outcome_because(const struct outcome *o, const struct dbr_finding *effect,
                     const struct dbr_finding *cause)
{
    for (size_t i = 0; effect && cause && i < effect->cause_count; i++)
        if (&o->diagnosis->findings[effect->causes[i]] == cause)
            return true;
    return false;
}
