/*
 * text.c - recordings as text: any bytes, and each line by both readers of lines.
 *
 * The quick reader of the commonest line must tell the same as the one that knows all. One
 * input in 16 is read again behind so many comments that the end of the reader's window
 * falls into it: that must change no frame.
 */
#include <string.h>

#include "fuzz/readings.h"
#include "fuzz/target.h"
#include "reading/candump.h"
#include "reading/candump_quick.h"

#define TEXT_SIZE_MAX 9216u /* more than the longest line that is kept, twice */

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

#define COMMENT 1024u /* bytes of a line */

/* Comments of `length` bytes; the last one may be short. */
static void put_comments(char *out, size_t length)
{
    memset(out, '#', length);
    for (size_t at = COMMENT; at < length; at += COMMENT)
        out[at - 1] = '\n';
    if (length > 0)
        out[length - 1] = '\n';
}

static void place_must_not_matter(const uint8_t *data, size_t size)
{
    static char padded[DBR_STREAM_WINDOW + TEXT_SIZE_MAX];
    static struct memory_file plain_file, padded_file;
    static struct reading plain, moved;
    size_t padding = DBR_STREAM_WINDOW - size / 2;

    put_comments(padded, padding);
    memcpy(padded + padding, data, size);
    memory_file_put(&plain_file, data, size);
    memory_file_put(&padded_file, padded, padding + size);
    reading_take(&plain, &plain_file, DBR_BATCH_FRAMES);
    reading_take(&moved, &padded_file, DBR_BATCH_FRAMES);
    /* A byte order mark is one at the beginning alone, and so is what tells other forms. */
    if (plain.account.info && moved.account.info && plain.account.info->files[0].by_line &&
        size > 0 && data[0] < 0x80) {
        MUST(plain.count == moved.count);
        for (size_t i = 0; i < plain.count; i++)
            MUST(reading_same_frame(plain.frames[i], moved.frames[i]));
    }
    reading_end(&plain);
    reading_end(&moved);
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
    if (size % 16 == 0 && size <= TEXT_SIZE_MAX)
        place_must_not_matter(data, size);
}

const struct fuzz_target text_target = {
    .name = "text", .size_max = TEXT_SIZE_MAX, .run = text_run};
