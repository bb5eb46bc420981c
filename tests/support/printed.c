/* printed.c - see printed.h. */
#include "support/kept.h"
#include "support/printed.h"

#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct dbr_frame printed_frame(double at, uint32_t id, const char *hex)
{
    struct dbr_frame frame = {
        .at_ns = (int64_t)(at * 1e9 + 0.5), .id = id, .flags = DBR_FRAME_EXTENDED};
    unsigned byte;

    for (; hex[2 * frame.length]; frame.length++) {
        cr_assert_eq(sscanf(hex + 2 * frame.length, "%2x", &byte), 1);
        frame.data[frame.length] = (uint8_t)byte;
    }
    return frame;
}

static void add_seen(void *context, const struct dbr_seen *seen)
{
    dbr_printing_add(context, seen);
}

static size_t form_index(const char *name)
{
    size_t index = 0;

    while (dbr_print_form_name(index) && strcmp(dbr_print_form_name(index), name) != 0)
        index++;
    cr_assert(dbr_print_form_name(index), "%s", name);
    return index;
}

static void play(struct dbr_definitions *definitions, struct dbr_printing *printing,
                 const struct dbr_frame *frames, size_t count)
{
    struct dbr_error error = {0};
    struct dbr_decoder *decoder = dbr_decoder_new(definitions, add_seen, printing, &error);

    cr_assert(decoder);
    for (size_t i = 0; i < count; i++)
        dbr_decoder_frame(decoder, &frames[i]);
    dbr_decoder_finish(decoder, count > 0 ? frames[count - 1].at_ns : 0);
    cr_assert_eq(dbr_printing_flush(printing, &error), 0, "%s", error.text);
    dbr_decoder_free(decoder);
}

char *printed(const struct printed_as *as, const struct dbr_frame *frames, size_t count)
{
    const struct dbr_recording_info info = {
        .time_base = as->timeless ? DBR_TIME_NONE : DBR_TIME_EPOCH,
        .interface_count = 2,
        .interfaces = {"can0", "can1"}};
    struct dbr_printing_options options = {.form = form_index(as->form),
                                           .fragments = as->fragments,
                                           .only = {as->only != NULL, {as->only}},
                                           .columns = {as->column != NULL, {as->column}},
                                           .info = &info};
    struct dbr_error error = {0};
    struct dbr_definitions *definitions = dbr_definitions_new(&error);
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    if (as->definitions)
        cr_assert_eq(dbr_definitions_load_text(definitions, "test", as->definitions,
                                               strlen(as->definitions), &error),
                     0, "%s", error.text);
    struct dbr_printing *printing = dbr_printing_new(out, definitions, &options, &error);
    cr_assert(printing, "%s", error.text);
    play(definitions, printing, frames, count);
    dbr_printing_free(printing);
    dbr_definitions_free(definitions);
    fclose(out);
    return kept(text);
}

cJSON *printed_json(const char *definitions, const struct dbr_frame *frame)
{
    char *text = printed(&(struct printed_as){.form = "ndjson", .definitions = definitions}, frame, 1);
    const char *end = NULL;
    cJSON *line = cJSON_ParseWithOpts(text, &end, false);

    cr_assert(line, "%s", text);
    cr_assert_str_eq(end, "\n");
    free(text);
    return line;
}

cJSON *printed_seen(const struct dbr_definitions *definitions, const struct dbr_seen *seen)
{
    const struct dbr_recording_info info = {
        .time_base = DBR_TIME_EPOCH, .interface_count = 1, .interfaces = {"can0"}};
    const struct dbr_printing_options options = {.form = form_index("ndjson"), .info = &info};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    struct dbr_printing *printing = dbr_printing_new(out, definitions, &options, NULL);

    cr_assert(dbr_printing_add(printing, seen));
    cr_assert_eq(dbr_printing_flush(printing, NULL), 0);
    dbr_printing_free(printing);
    fclose(out);
    cJSON *line = cJSON_Parse(kept(text));
    cr_assert(line, "%s", text);
    free(text);
    return line;
}

const cJSON *printed_signal(const cJSON *line, const char *name)
{
    const cJSON *signal;

    cJSON_ArrayForEach(signal, cJSON_GetObjectItemCaseSensitive(line, "signals"))
        if (strcmp(cJSON_GetObjectItemCaseSensitive(signal, "name")->valuestring, name) == 0)
            return signal;
    return NULL;
}
