/* account.c - see account.h. */
#include "support/account.h"

#include <string.h>

static const char *file_flaw(const struct dbr_file_info *file)
{
    uint64_t rejected = 0;

    for (int i = 0; i < DBR_REJECTION_COUNT; i++) {
        rejected += file->rejections[i].count;
        if ((file->rejections[i].count > 0) != (file->rejections[i].first_at > 0))
            return "a kind of rejection has a count or a first place, but not both";
        if (file->rejections[i].first_at > 0 && file->rejections[i].count > file->records)
            return "more was rejected for one reason than there are records";
    }
    if (file->frames + file->rejected != file->records)
        return "frames and rejected are not records";
    if (rejected != file->rejected)
        return "the kinds of rejection do not add up to what was rejected";
    if (file->truncated != (file->truncated_why[0] != '\0'))
        return "a truncated file does not say why, or a whole one does";
    return NULL;
}

static bool zero_beyond_data(const struct dbr_frame *f)
{
    static const uint8_t zeros[DBR_FD_DATA_MAX];
    size_t used = f->flags & DBR_FRAME_REMOTE ? 0 : f->length;

    return memcmp(f->data + used, zeros, sizeof zeros - used) == 0;
}

static const char *frame_flaw(const struct dbr_recording_info *info, const struct dbr_frame *f)
{
    bool long_id = f->flags & (DBR_FRAME_EXTENDED | DBR_FRAME_ERROR);

    if (f->at_ns > info->last_ns)
        return "a frame is later than the last one";
    if (f->interface >= info->interface_count)
        return "a frame names an interface that is not there";
    if (f->id > (long_id ? DBR_EXTENDED_ID_MAX : DBR_STANDARD_ID_MAX))
        return "an identifier does not fit its bits";
    if (f->length > (f->flags & DBR_FRAME_FD ? DBR_FD_DATA_MAX : DBR_CLASSIC_DATA_MAX))
        return "a frame is longer than a bus can carry";
    if (!zero_beyond_data(f))
        return "bytes beyond the data of a frame are not zero";
    if (f->raw_dlc && (f->raw_dlc < 9 || f->raw_dlc > 15 || f->length != 8))
        return "a raw length code stands where there can be none";
    return NULL;
}

static const char *frames_flaw(const struct account *a)
{
    int64_t before = 0;
    uint64_t copies = 0;

    for (size_t i = 0; i < a->count; i++) {
        const struct dbr_frame *f = &a->frames[i];
        const char *flaw = frame_flaw(a->info, f);
        if (flaw)
            return flaw;
        if (f->at_ns < before)
            return "time runs backwards";
        before = f->at_ns;
        copies += (f->flags & DBR_FRAME_COPY) != 0;
    }
    return copies > a->info->copies ? "more copies were delivered than counted" : NULL;
}

const char *account_flaw(const struct account *a)
{
    uint64_t frames = 0;

    for (size_t i = 0; a->info && i < a->info->file_count; i++) {
        const char *flaw = file_flaw(&a->info->files[i]);
        if (flaw)
            return flaw;
        frames += a->info->files[i].frames;
    }
    if (!a->info)
        return NULL;
    if (a->result == 0 && frames != a->info->frames)
        return "the frames of the files are not the frames of the recording";
    if (a->count > a->info->frames)
        return "more frames were delivered than read";
    return frames_flaw(a);
}

static const char *file_difference(const struct dbr_file_info *a, const struct dbr_file_info *b)
{
    if (a->format != b->format || a->by_line != b->by_line)
        return "the form of a file";
    if (a->records != b->records || a->frames != b->frames)
        return "the records or frames of a file";
    if (memcmp(a->rejections, b->rejections, sizeof a->rejections) != 0)
        return "the rejections of a file";
    if (a->truncated != b->truncated || strcmp(a->truncated_why, b->truncated_why) != 0)
        return "where a file breaks off";
    return NULL;
}

static bool same_steps(const struct dbr_clock_steps *a, const struct dbr_clock_steps *b)
{
    return a->count == b->count && a->first_at_ns == b->first_at_ns && a->largest_ns == b->largest_ns;
}

static const char *time_difference(const struct dbr_recording_info *a,
                                   const struct dbr_recording_info *b)
{
    if (a->time_base != b->time_base)
        return "the time base";
    if (a->start_ns != b->start_ns || a->last_ns != b->last_ns)
        return "start or duration";
    if (!same_steps(&a->steps_back, &b->steps_back) || !same_steps(&a->steps_ahead, &b->steps_ahead))
        return "the steps of the clock";
    return NULL;
}

static const char *info_difference(const struct dbr_recording_info *a,
                                   const struct dbr_recording_info *b)
{
    const char *difference = time_difference(a, b);

    if (difference)
        return difference;
    if (a->frames != b->frames || a->copies != b->copies)
        return "how many frames or copies";
    if (a->interface_count != b->interface_count || a->file_count != b->file_count)
        return "how many interfaces or files";
    for (size_t i = 0; i < a->interface_count; i++)
        if (strcmp(a->interfaces[i], b->interfaces[i]) != 0)
            return "the names of the interfaces";
    for (size_t i = 0; i < a->file_count && !difference; i++)
        difference = file_difference(&a->files[i], &b->files[i]);
    return difference;
}

const char *account_difference(const struct account *a, const struct account *b)
{
    if (a->result != b->result || (a->result < 0 && a->code != b->code))
        return "how it ended";
    if ((a->info == NULL) != (b->info == NULL))
        return "whether it can be opened";
    if (!a->info)
        return NULL;
    /* What came before a failure in the middle depends on the size of the batch. */
    if (a->result < 0 && a->info->frames > 0)
        return NULL;
    if (a->count != b->count)
        return "how many frames were delivered";
    if (a->count > 0 && memcmp(a->frames, b->frames, a->count * sizeof *a->frames) != 0)
        return "the frames";
    return info_difference(a->info, b->info);
}
