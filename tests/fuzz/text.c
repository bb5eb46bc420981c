/*
 * text.c - recordings as text: any bytes, and each line by both readers of lines.
 *
 * The quick reader of the commonest line must tell the same as the one that knows all.
 */
#include <string.h>

#include "fuzz/readings.h"
#include "fuzz/target.h"
#include "reading/candump.h"
#include "reading/candump_quick.h"

static void line_must_read_alike(const char *line, size_t length)
{
    struct candump_line full;
    struct dbr_frame quick;

    candump_line_read(&full, line, length);
    bool named = full.kind == LINE_FRAME;
    memset(&quick, 0xA5, sizeof quick);
    if (!candump_quick_read(&quick, line, length, named ? full.interface : "can0",
                            named ? full.interface_length : 4))
        return;
    MUST(full.kind == LINE_FRAME && full.form == FORM_LOG && full.stamp == STAMP_SECONDS);
    full.frame.interface = quick.interface;
    MUST(memcmp(&full.frame, &quick, sizeof quick) == 0);
}

static void text_run(const uint8_t *data, size_t size)
{
    const char *text = (const char *)data;

    for (size_t at = 0; at < size;) {
        const char *feed = memchr(text + at, '\n', size - at);
        size_t length = feed ? (size_t)(feed - text) - at : size - at;
        line_must_read_alike(text + at, length);
        at += length + 1;
    }
    readings_must_agree(data, size, 1 + size % 7);
}

const struct fuzz_target text_target = {.name = "text", .size_max = 4096, .run = text_run};
