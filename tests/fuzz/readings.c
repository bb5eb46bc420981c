/* readings.c - see readings.h. */
#include "fuzz/readings.h"

#include <stdlib.h>
#include <string.h>

#include "fuzz/target.h"
#include "fuzz/texts.h"

static void keep(struct reading *r, const struct dbr_batch *batch)
{
    if (r->count + batch->count > r->capacity) {
        r->capacity = 2 * (r->count + batch->count);
        r->frames = realloc(r->frames, r->capacity * sizeof *r->frames);
        MUST(r->frames != NULL);
    }
    memcpy(r->frames + r->count, batch->frames, batch->count * sizeof *r->frames);
    r->count += batch->count;
}

static int read_all(struct reading *r, size_t batch_frames)
{
    static struct dbr_batch batch;
    int got;

    batch.capacity = batch_frames;
    while ((got = dbr_recording_next(r->recording, &batch, &r->error)) > 0) {
        MUST((size_t)got == batch.count && batch.count <= batch.capacity);
        keep(r, &batch);
        for (size_t i = 0; i < batch.count; i++)
            MUST(batch.frames[i].interface < dbr_recording_info(r->recording)->interface_count);
    }
    return got;
}

void reading_take(struct reading *r, const struct memory_file *file, size_t batch_frames)
{
    const char *path = file->path;

    r->count = 0;
    r->error = (struct dbr_error){.code = DBR_ERROR_NONE};
    r->account.result = dbr_recording_open(&r->recording, &path, 1, NULL, &r->error);
    MUST((r->account.result < 0) == (r->recording == NULL));
    if (r->recording)
        r->account.result = read_all(r, batch_frames);
    r->account = (struct account){
        .result = r->account.result,
        .code = r->error.code,
        .info = r->recording ? dbr_recording_info(r->recording) : NULL,
        .frames = r->frames,
        .count = r->count,
    };
    MUST_NOT(account_flaw(&r->account));
    MUST(r->account.result == 0 || (r->account.code != DBR_ERROR_NONE && r->error.text[0]));
    MUST(r->account.result < 0 || r->count > 0);
    MUST_NOT(text_flaw(r->error.text, strlen(r->error.text), TEXT_LINES));
}

void reading_end(struct reading *r)
{
    dbr_recording_close(r->recording);
    r->recording = NULL;
    r->account.info = NULL;
}

bool reading_same_frame(struct dbr_frame a, struct dbr_frame b)
{
    a.at_ns = b.at_ns = 0;
    a.flags &= (uint8_t)~DBR_FRAME_COPY;
    b.flags &= (uint8_t)~DBR_FRAME_COPY;
    return memcmp(&a, &b, sizeof a) == 0;
}

void readings_must_agree(const uint8_t *content, size_t length, size_t odd)
{
    static struct memory_file file;
    static struct reading one, other;

    memory_file_put(&file, content, length);
    reading_take(&one, &file, DBR_BATCH_FRAMES);
    reading_take(&other, &file, odd);
    MUST_NOT(account_difference(&one.account, &other.account));
    reading_end(&one);
    reading_end(&other);
}
