/* transfer_talk.c - see transfer_talk.h. */
#include "support/transfer_talk.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/can_id.h"

#define FAST_GROUP 129029u

static char outcome[4096];

uint8_t talk_content(uint32_t offset)
{
    return (uint8_t)(offset * 7 + offset / 251 + 3);
}

struct dbr_frame talk_frame(int64_t at_ns, uint32_t pgn, uint8_t source, uint8_t destination,
                            const uint8_t data[8])
{
    struct dbr_can_id id = {.priority = 7, .pgn = pgn, .source = source,
                            .destination = destination,
                            .broadcast = (pgn >> 8 & 0xFF) >= DBR_PDU2_FORMAT_MIN};
    struct dbr_frame frame = {.at_ns = at_ns, .id = dbr_can_id_join(&id),
                              .flags = DBR_FRAME_EXTENDED, .length = 8};
    memcpy(frame.data, data, 8);
    return frame;
}

static void add(const char *format, ...) __attribute__((format(printf, 1, 2)));

static void add(const char *format, ...)
{
    size_t used = strlen(outcome);
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(outcome + used, sizeof outcome - used, format, arguments);
    va_end(arguments);
}

static const char *const end_names[] = {"complete", "aborted", "timed-out", "replaced",
                                        "broken", "unrecorded", "unfinished"};

static void ended(void *context, const struct dbr_transfer *t)
{
    (void)context;
    add("%s%s %u>%u %uB %u/%u", *outcome ? "; " : "", end_names[t->end], t->source,
        t->destination, t->size, t->received, t->packets);
    if (t->acknowledged)
        add(" ack");
    if (t->repeated)
        add(" repeated %u", t->repeated);
    if (t->ungranted)
        add(" ungranted %u", t->ungranted);
    if (t->announcements != 1)
        add(" announced %u", t->announcements);
    if (t->first_missing && t->end != DBR_TRANSFER_COMPLETE)
        add(" lacks %u", t->first_missing);
    if (t->end == DBR_TRANSFER_ABORTED)
        add(" reason %u by %s", t->abort_reason, t->by_receiver ? "receiver" : "originator");
    if (t->end == DBR_TRANSFER_TIMED_OUT)
        add(" T%d at %ld", t->timer, (long)(t->end_ns / 1000000));
    if (t->breach)
        add(" breach %d", t->breach);
    cr_assert_eq(t->data != NULL, t->end == DBR_TRANSFER_COMPLETE);
    for (uint32_t i = 0; t->data && i < t->size; i++)
        cr_assert_eq(t->data[i], talk_content(i), "byte %u after: %s", i, outcome);
}

static void put(uint8_t *out, uint32_t value, unsigned bytes)
{
    for (unsigned i = 0; i < bytes; i++)
        out[i] = (uint8_t)(value >> 8 * i);
}

struct line {
    int interface;
    double ms;
    char word[8];
    unsigned source, destination, a, b, c, pgn;
};

static void fill_packet(const struct line *l, uint8_t data[8], uint32_t first_byte)
{
    data[0] = (uint8_t)l->a;
    for (uint32_t i = 0; i < 7; i++)
        data[1 + i] = (uint8_t)(talk_content(first_byte + i) ^ (l->word[0] == 'O' ? 0x55 : 0));
}

static void fill_fast(const struct line *l, uint8_t data[8])
{
    unsigned number = l->b, sequence = l->c;

    data[0] = (uint8_t)(sequence << 5 | number);
    data[1] = (uint8_t)l->a;
    for (uint32_t i = number ? 0 : 1; i < 7; i++)
        data[1 + i] = (uint8_t)(talk_content(number ? 6 + 7 * (number - 1) + i : i - 1) ^
                                (l->word[0] == 'O' ? 0x55 : 0));
}

/* Returns the group of the frame. */
static uint32_t fill(const struct line *l, uint8_t data[8])
{
    const char *w = l->word;
    bool extended = w[0] == 'X';

    memset(data, 0xFF, 8);
    put(data + 5, l->pgn, 3);
    if (strcmp(w, "BUS") == 0)
        return 65262;
    if (strstr(w, "FP")) {
        fill_fast(l, data);
        return FAST_GROUP;
    }
    if (strcmp(w, "XDT") == 0) {
        fill_packet(l, data, 7 * (l->a - 1 + l->b));
        return DBR_PGN_EXTENDED_DATA;
    }
    if (strstr(w, "DT")) {
        fill_packet(l, data, 7 * (l->a - 1));
        return DBR_PGN_TRANSPORT_DATA;
    }
    if (strstr(w, "RTS") || strstr(w, "BAM") || strstr(w, "ACK")) {
        data[0] = strstr(w, "ACK") ? (extended ? 23 : 19) : extended ? 20 : w[0] == 'B' ? 32 : 16;
        put(data + 1, l->a, extended ? 4 : 2);
        if (!extended)
            data[3] = (uint8_t)(l->b ? l->b : (l->a + 6) / 7);
    } else if (strstr(w, "ABORT")) {
        data[1] = (uint8_t)l->a;
    } else if (strstr(w, "CTS") || strstr(w, "XDPO")) {
        data[0] = strcmp(w, "XDPO") == 0 ? 22 : extended ? 21 : 17;
        data[1] = (uint8_t)l->a;
        put(data + 2, l->b, extended ? 3 : 1);
    } else {
        cr_assert_fail("what is %s?", w);
    }
    return extended ? DBR_PGN_EXTENDED_CONTROL : DBR_PGN_TRANSPORT_CONTROL;
}

/* One line of a script, without its end. */
static void play(struct dbr_transport *t, const char *text, int64_t *now)
{
    struct line l = {.pgn = 65251};
    uint8_t data[8];
    const char *pgn = strchr(text, '/');
    int skip = 0;

    sscanf(text, " @%d%n", &l.interface, &skip);
    int read = sscanf(text + skip, "%lf %7s %u>%u %u %u %u", &l.ms, l.word, &l.source,
                      &l.destination, &l.a, &l.b, &l.c);
    cr_assert_geq(read, 4, "%s", text);
    if (pgn)
        sscanf(pgn + 1, "%u", &l.pgn);
    *now = (int64_t)(l.ms * 1e6);
    uint32_t group = fill(&l, data);
    struct dbr_frame frame = talk_frame(*now, group, (uint8_t)l.source, (uint8_t)l.destination,
                                        data);
    frame.interface = (uint8_t)l.interface;
    dbr_transport_frame(t, &frame, group == FAST_GROUP);
}

const char *talk_outcome(const char *script)
{
    struct dbr_transport *t = dbr_transport_new(ended, NULL, NULL);
    int64_t now = 0;

    outcome[0] = '\0';
    while (*script) {
        char line[128];
        size_t length = strcspn(script, "\n");
        snprintf(line, sizeof line, "%.*s", (int)length, script);
        play(t, line, &now);
        script += length + (script[length] == '\n');
    }
    dbr_transport_finish(t, now);
    const struct dbr_transport_counts *c = dbr_transport_counts(t);
    if (c->stray_data || c->stray_control)
        add(" | stray data %lu, control %lu", (unsigned long)c->stray_data,
            (unsigned long)c->stray_control);
    dbr_transport_free(t);
    return outcome;
}

void talk_expect(const struct talk_sequence *rows, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        const char *came = talk_outcome(rows[i].script);
        cr_expect_str_eq(came, rows[i].outcome, "%s\n  came  %s\n  not   %s", rows[i].what, came,
                         rows[i].outcome);
    }
}
