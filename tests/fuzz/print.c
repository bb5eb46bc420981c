/*
 * print.c - frames decoded and printed.
 *
 * The head of the input: byte 0 options (bits below) and, in its upper half, the form; byte 1
 * the term to look for.
 */
#include <cjson/cJSON.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/printing.h"
#include "fuzz/definitions_once.h"
#include "fuzz/packed.h"
#include "fuzz/target.h"
#include "fuzz/texts.h"
#include "fuzz/written.h"

#define OPTION_FRAGMENTS 0x01u
#define OPTION_UNTIMED 0x02u
#define OPTION_ONLY 0x04u
#define OPTION_COLUMNS 0x08u

struct run {
    struct dbr_printing *printing;
    size_t lines;   /* that printing says it wrote */
    size_t frames;  /* that were told of as they are */
    size_t whole;   /* messages that came in several */
};

static void seen(void *context, const struct dbr_seen *s)
{
    struct run *run = context;

    MUST(s->kind <= DBR_SEEN_FRAME && (s->frame == NULL) == (s->transfer != NULL));
    MUST(s->kind != DBR_SEEN_FAILED || (s->transfer && !s->data));
    MUST(s->kind != DBR_SEEN_FRAME || !s->message);
    MUST(!s->message || s->message->pgn == s->id.pgn);
    run->frames += s->frame != NULL;
    run->whole += s->kind == DBR_SEEN_MESSAGE && s->transfer;
    run->lines += dbr_printing_add(run->printing, s);
}

/* Every frame is told exactly once, and what does not fail came whole. */
static void play(struct run *run, const struct dbr_frame *frames, size_t count)
{
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    struct dbr_decoder *decoder = dbr_decoder_new(definitions_once(), seen, run, &error);

    MUST(decoder != NULL);
    for (size_t i = 0; i < count; i++)
        dbr_decoder_frame(decoder, &frames[i]);
    dbr_decoder_finish(decoder, count > 0 ? frames[count - 1].at_ns : 0);
    MUST(run->frames == count);
    MUST(dbr_printing_flush(run->printing, &error) == 0);
    dbr_decoder_free(decoder);
}

/* Fields of a line of comma-separated values (RFC 4180); quotes must close within it. */
static size_t fields_of(const char *line, size_t length)
{
    size_t fields = 1;
    bool quoted = false;

    for (size_t i = 0; i < length; i++) {
        quoted = quoted != (line[i] == '"');
        fields += line[i] == ',' && !quoted;
    }
    MUST(!quoted);
    return fields;
}

static void json_line_must_hold(const char *line, size_t length)
{
    MUST_NOT(json_flaw(line, length));
    MUST(length >= 2 && line[0] == '{' && line[length - 1] == '}');
}

/* Lines end with a line feed and hold nothing else that steers; tables have equal rows. */
static size_t lines_must_hold(const char *form, const char *text, size_t size)
{
    size_t lines = 0, fields = 0;

    for (size_t at = 0; at < size; lines++) {
        const char *feed = memchr(text + at, '\n', size - at);
        MUST(feed != NULL);
        size_t length = (size_t)(feed - text) - at;
        MUST_NOT(text_flaw(text + at, length, TEXT_LINE));
        if (strcmp(form, "ndjson") == 0)
            json_line_must_hold(text + at, length);
        if (strcmp(form, "csv") == 0) {
            size_t here = fields_of(text + at, length);
            MUST(lines == 0 || here == fields);
            fields = here;
        }
        at += length + 1;
    }
    return lines;
}

static void print_form(size_t form, const uint8_t *head, const struct dbr_frame *frames,
                       size_t count)
{
    static const char *const terms[] = {"speed", "DDI 141", "190", "Engine speed", "rate", "lamp"};
    const char *term = terms[head[1] % (sizeof terms / sizeof terms[0])];
    struct dbr_recording_info info = {
        .time_base = head[0] & OPTION_UNTIMED ? DBR_TIME_NONE : DBR_TIME_EPOCH,
        .interface_count = PACKED_INTERFACES};
    struct dbr_printing_options options = {.form = form,
                                           .fragments = head[0] & OPTION_FRAGMENTS,
                                           .info = &info};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    struct run run = {.lines = 0};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    for (size_t i = 0; i < PACKED_INTERFACES; i++)
        info.interfaces[i] = written_names[i];
    if (head[0] & OPTION_ONLY)
        options.only = (struct dbr_signal_terms){1, {term}};
    if ((head[0] & OPTION_COLUMNS) && dbr_print_form_has_columns(form))
        options.columns = (struct dbr_signal_terms){1, {term}};
    MUST(out != NULL);
    run.printing = dbr_printing_new(out, definitions_once(), &options, &error);
    MUST(run.printing != NULL);
    play(&run, frames, count);
    dbr_printing_free(run.printing);
    MUST(fclose(out) == 0);
    size_t lines = lines_must_hold(dbr_print_form_name(form), text, size);
    MUST(lines >= run.lines && (lines > 0) >= (run.lines > 0));
    free(text);
}

static void print_run(const uint8_t *data, size_t size)
{
    static struct dbr_frame frames[PACKED_FRAMES_MAX];
    size_t count = packed_frames(frames, data, size), forms = 0;

    while (dbr_print_form_name(forms))
        forms++;
    if (count > 0)
        print_form(data[0] / 16 % forms, data, frames, count);
}

const struct fuzz_target print_target = {.name = "print",
                                         .size_max = PACKED_HEAD + 256 * PACKED_FRAME,
                                         .run = print_run,
                                         .mutate = packed_mutate};
