/*
 * cut.c - drawbar cut: the part of a recording that shows the fault, as a smaller recording.
 *
 * The recording is read twice (and once more, by check itself, for --around): what
 * belongs to a message of several frames is known only when its last frame has come.
 */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "commands/cut_around.h"
#include "commands/number_list.h"
#include "commands/output.h"
#include "commands/print_notes.h"
#include "commands/progress.h"
#include "commands/selection.h"
#include "drawbar/can_id.h"
#include "drawbar/writing.h"

#define NS_PER_S 1000000000.0
/* What an ECU did before is told by ten messages of it, and the slowest beat that is judged is the
 * 2 s of a task controller (ISO 11783-10). */
#define SECONDS_DEFAULT 30.0
#define SECONDS_MAX 86400.0  /* a day */

const struct option_row cut_options[] = {
    {"output", "OUT", "or -o: .log, .txt, .pcap, .pcapng, each with .gz; - is text"},
    {"from", "T", "begin at T: seconds from start, a time of day, or a date and time"},
    {"to", "T", "end at T"},
    {"around", "CODE|all", "around what check finds: one code, or all faults and warnings"},
    {"seconds", "N", "so long before and after it (30)"},
    {"address", "N,N-N...", "sent by or to these addresses only; decimal or 0x"},
    {"pgn", "N,N-N...", "these parameter groups only"},
    {"claims", NULL, "all address claims as well: they name the senders"},
    {"interface", "NAME", "this interface only"},
    {"rig", "FILE", "what this machine should have, for --around"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"bitrate", "N", "bit/s of the bus (250000), for --around"},
    {"quiet", NULL, "no notes on standard error"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

struct cut_job {
    struct request request;
    const char *path;
    struct dbr_writing_options writing;
    struct around around;
    struct dbr_window window; /* of --from and --to, where there is no --around */
    struct number_list addresses, pgns;

    struct dbr_definitions *definitions;
    struct dbr_excerpt *excerpt;
    struct dbr_writer *writer;
    bool used[DBR_INTERFACES_MAX];        /* interfaces of the frames that were read */
    uint8_t written_as[DBR_INTERFACES_MAX];
    const char *names[DBR_INTERFACES_MAX];
    uint64_t frames, kept;
    int64_t first_ns, last_ns; /* of those kept */
};

/* What becomes of each batch. */
typedef int batch_taker(struct cut_job *job, const struct dbr_recording_info *info,
                        const struct dbr_batch *batch, struct dbr_error *error);

static int read_seconds(struct cut_job *job, const struct option_values *values)
{
    const char *text = option_value(values, "seconds");
    char *end = NULL;
    double seconds = text ? strtod(text, &end) : SECONDS_DEFAULT;

    if ((text && *end != '\0') || !(seconds >= 0 && seconds <= SECONDS_MAX)) {
        complain("--seconds %s: expected seconds from 0 to %.0f", text, SECONDS_MAX);
        return -1;
    }
    job->around.margin_ns = (int64_t)(seconds * NS_PER_S);
    return 0;
}

static int read_around(struct cut_job *job, const struct option_values *values)
{
    static const char *const details[] = {"seconds", "rig", "bitrate"};

    job->around.what = option_value(values, "around");
    for (size_t i = 0; !job->around.what && i < sizeof details / sizeof details[0]; i++)
        if (option_given(values, details[i])) {
            complain("--%s is about findings: it goes with --around", details[i]);
            return -1;
        }
    if (job->around.what && !around_is_known(job->around.what)) {
        complain("--around %s: no finding has this code; drawbar check --json names those of a "
                 "recording", job->around.what);
        return -1;
    }
    return read_seconds(job, values);
}

static int read_output(struct cut_job *job, const struct option_values *values)
{
    job->path = option_value(values, "output");
    if (!job->path) {
        complain("cut needs -o OUT: where to write the smaller recording");
        return -1;
    }
    if (strcmp(job->path, "-") == 0 ||
        dbr_form_of_name(job->path, &job->writing.form, &job->writing.compress))
        return 0;
    complain("--output %s: its ending tells the form: .log, .txt, .candump, .pcap or .pcapng, "
             "each with .gz behind it or not", job->path);
    return -1;
}

static int check_inputs(const struct cut_job *job, const struct option_values *values)
{
    for (size_t i = 0; i < values->operand_count; i++) {
        const char *path = values->operands[i];
        if (strcmp(path, "-") == 0) {
            complain("cut reads its recording more than once: save standard input to a file first");
            return -1;
        }
        if (output_would_replace(job->path, path)) {
            complain("--output %s: this is the recording; the part needs another name", job->path);
            return -1;
        }
    }
    return 0;
}

static int read_job(struct cut_job *job, const struct option_values *values)
{
    if (values->operand_count == 0) {
        complain("cut needs a recording: a file, or several");
        return -1;
    }
    if (request_read(values, &job->request) < 0 || read_output(job, values) < 0 ||
        read_around(job, values) < 0 || check_inputs(job, values) < 0 ||
        number_list_read(&job->addresses, values, "address", DBR_ADDRESS_NULL) < 0 ||
        number_list_read(&job->pgns, values, "pgn", DBR_PGN_MAX) < 0)
        return -1;
    return 0;
}

/* Reads the whole recording, in order: transfers begin before a window and end after it. */
static int pass(struct cut_job *job, batch_taker *take, struct dbr_recording **recording,
                struct dbr_error *error)
{
    const struct option_values *values = job->request.values;
    struct dbr_reading_options options = job->request.reading;
    struct dbr_batch *batch = malloc(sizeof *batch);
    struct progress progress = progress_start();
    int count = -1;

    options.lead_in = options.lead_out = true;
    if (!batch)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    batch->capacity = DBR_BATCH_FRAMES;
    if (dbr_recording_open(recording, values->operands, values->operand_count, &options, error) ==
        0) {
        const struct dbr_recording_info *info = dbr_recording_info(*recording);
        while ((count = dbr_recording_next(*recording, batch, error)) > 0) {
            if (take(job, info, batch, error) < 0) {
                count = -1;
                break;
            }
            progress_show(&progress, info->frames, info->last_ns);
        }
    }
    progress_end(&progress);
    free(batch);
    return count;
}

/* The windows are known once the first frame has told what --from and --to mean. */
static int begin_excerpt(struct cut_job *job, const struct dbr_recording_info *info,
                         struct dbr_error *error)
{
    bool around = job->around.what != NULL;
    bool filtered = job->addresses.count > 0 || job->pgns.count > 0;
    struct dbr_excerpt_wish wish = {.window_count = around ? job->around.window_count : 1,
                                    .windows = around ? job->around.windows : &job->window,
                                    .address_count = job->addresses.count,
                                    .addresses = job->addresses.ranges,
                                    .pgn_count = job->pgns.count,
                                    .pgns = job->pgns.ranges,
                                    .claims = (around && !filtered) ||
                                              option_given(job->request.values, "claims"),
                                    .values = around};

    job->window = (struct dbr_window){info->from_ns, info->to_ns};
    job->excerpt = dbr_excerpt_new(job->definitions, &wish, error);
    return job->excerpt ? 0 : -1;
}

static int learn(struct cut_job *job, const struct dbr_recording_info *info,
                 const struct dbr_batch *batch, struct dbr_error *error)
{
    if (!job->excerpt && begin_excerpt(job, info, error) < 0)
        return -1;
    for (size_t i = 0; i < batch->count; i++) {
        const struct dbr_frame *frame = &batch->frames[i];
        dbr_excerpt_learn(job->excerpt, frame);
        job->used[frame->interface] = true;
        job->writing.directions = job->writing.directions || (frame->flags & DBR_FRAME_SENT);
        job->frames += frame->at_ns >= info->from_ns && frame->at_ns <= info->to_ns;
    }
    return 0;
}

static int keep_wanted(struct cut_job *job, const struct dbr_recording_info *info,
                       const struct dbr_batch *batch, struct dbr_error *error)
{
    (void)info;
    for (size_t i = 0; i < batch->count; i++) {
        struct dbr_frame frame = batch->frames[i];
        if (!dbr_excerpt_wants(job->excerpt, &frame))
            continue;
        if (job->kept++ == 0)
            job->first_ns = frame.at_ns;
        job->last_ns = frame.at_ns;
        frame.interface = job->written_as[frame.interface];
        if (dbr_writer_frame(job->writer, &frame, error) < 0)
            return -1;
    }
    return 0;
}

/* Interfaces that no frame came from are not written. */
static void settle_writing(struct cut_job *job, const struct dbr_recording_info *info)
{
    struct dbr_writing_options *w = &job->writing;

    for (size_t i = 0; i < info->interface_count; i++) {
        job->written_as[i] = (uint8_t)w->interface_count;
        if (job->used[i])
            job->names[w->interface_count++] = info->interfaces[i];
    }
    w->interfaces = job->names;
    w->time_base = info->time_base;
    w->start_ns = info->start_ns;
}

static int nothing_kept(const struct cut_job *job, struct dbr_error *error)
{
    static const char *const filters[] = {"address", "pgn", "around", "from", "to"};
    const struct option_values *values = job->request.values;

    for (size_t i = 0; i < sizeof filters / sizeof filters[0]; i++)
        if (option_given(values, filters[i]))
            return dbr_error_set(error, DBR_ERROR_USAGE,
                                 "nothing is left to write: no frame fits --%s %s", filters[i],
                                 option_value(values, filters[i]));
    return dbr_error_set(error, DBR_ERROR_USAGE, "nothing is left to write");
}

/* The names of the first reading, whose recording is still open, serve the second. */
static int write_part(struct cut_job *job, struct dbr_error *error)
{
    struct dbr_recording *recording = NULL;
    struct output output;

    if (output_open(&output, job->path, error) < 0)
        return -1;
    int status = dbr_writer_open(&job->writer, output.file, &job->writing, error);
    if (status == 0)
        status = pass(job, keep_wanted, &recording, error);
    struct dbr_error *unless_told = status == 0 ? error : NULL;
    if (dbr_writer_close(job->writer, unless_told) < 0)
        status = -1;
    dbr_recording_close(recording);
    if (status == 0 && job->kept == 0)
        status = nothing_kept(job, error);
    if (status == 0)
        return output_commit(&output, error);
    return output_fail(&output, error);
}

static void say_what_was_done(const struct cut_job *job, const struct dbr_recording_info *info)
{
    uint64_t beyond = dbr_excerpt_beyond(job->excerpt);

    note_files(info);
    uint64_t steps = info->steps_back.count + info->steps_ahead.count;
    if (steps > 0)
        complain("the recorder's clock ran backwards or leapt ahead %" PRIu64 " times: times behind "
                 "that are written as they count on, not as they were stamped", steps);
    if (beyond > 0)
        complain("%" PRIu64 " messages of several frames, or values told before, were too many "
                 "to keep", beyond);
    if (job->around.window_count > 1)
        complain("%zu pieces of time: the gaps between them, which check of the part may tell as "
                 "recording-gap, are none of the recording", job->around.window_count);
    if (info->time_base == DBR_TIME_NONE)
        complain("%s: %" PRIu64 " of %" PRIu64 " frames", job->path, job->kept, info->frames);
    else
        complain("%s: %" PRIu64 " of %" PRIu64 " frames, from %.3f s to %.3f s", job->path,
                 job->kept, info->frames, (double)job->first_ns / NS_PER_S,
                 (double)job->last_ns / NS_PER_S);
}

static int run_job(struct cut_job *job, struct dbr_recording **recording, struct dbr_error *error)
{
    struct request *r = &job->request;
    const struct option_values *values = r->values;

    if (request_check(r, values->operands, values->operand_count, error) < 0 ||
        (job->around.what && around_find(&job->around, r, error) < 0))
        return -1;
    job->definitions = dbr_definitions_new(error);
    if (!job->definitions ||
        (r->definitions &&
         dbr_definitions_load_directory(job->definitions, r->definitions, error) < 0) ||
        pass(job, learn, recording, error) < 0)
        return -1;
    const struct dbr_recording_info *info = dbr_recording_info(*recording);
    if (selection_found(values, &r->reading, info, job->frames, error) < 0 ||
        dbr_excerpt_learned(job->excerpt, info->last_ns, error) < 0)
        return -1;
    settle_writing(job, info);
    if (write_part(job, error) < 0)
        return -1;
    if (!r->quiet)
        say_what_was_done(job, info);
    return 0;
}

int command_cut(const struct option_values *values)
{
    struct cut_job *job = calloc(1, sizeof *job);
    struct dbr_recording *recording = NULL;
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status = EXIT_CLEAN;

    if (!job)
        return complain("out of memory");
    if (read_job(job, values) < 0)
        status = EXIT_UNUSABLE;
    else if (run_job(job, &recording, &error) < 0)
        status = complain_of(&error);
    dbr_excerpt_free(job->excerpt);
    dbr_recording_close(recording);
    dbr_definitions_free(job->definitions);
    free(job);
    return status;
}
