/* print.c - drawbar print: decoded messages, for people, spreadsheets and programs. */
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/analysis.h"
#include "commands/commands.h"
#include "commands/number_list.h"
#include "commands/print_notes.h"
#include "commands/progress.h"
#include "commands/selection.h"
#include "drawbar/can_id.h"
#include "drawbar/printing.h"

const struct option_row print_options[] = {
    {"format", "text|csv|ndjson", "text; csv, a row a signal; ndjson, an object a line"},
    {"pgn", "N,N-N...", "these parameter groups only; decimal or 0x"},
    {"address", "N,N-N...", "sent from these addresses only"},
    {"destination", "N,N-N...", "sent to these addresses only"},
    {"signal", "NAME,SPN...", "these signals only: part of a name, an SPN, or \"DDI 141\""},
    {"signals", "NAME,SPN...", "csv with a column for each, a row when one of them comes"},
    {"frames", NULL, "also each frame of a message that comes in several"},
    {"definitions", "DIR", "use the message definitions in DIR as well"},
    {"interface", "NAME", "look at this interface only"},
    {"from", "T", "begin at T: seconds from start, a time of day, or a date and time"},
    {"to", "T", "end at T"},
    {"quiet", NULL, "no notes on standard error"},
    {"help", NULL, "this help"},
    {NULL, NULL, NULL},
};

struct print_job {
    struct request request;
    struct number_list pgns, addresses, destinations;
    struct dbr_printing_options options;
    char *terms[2]; /* the values of --signal and --signals, cut at their commas */

    struct dbr_definitions *definitions;
    struct dbr_recording *recording;
    const struct dbr_recording_info *info;
    struct dbr_decoder *decoder;
    struct dbr_printing *printing;
    uint64_t frames; /* in the window */
    int64_t last_ns; /* of the last of them */
    uint64_t lines;
};

/* Blanks around a term are no part of it. */
static const char *trimmed(char *term)
{
    char *end = term + strlen(term);

    while (isspace((unsigned char)*term))
        term++;
    while (end > term && isspace((unsigned char)end[-1]))
        *--end = '\0';
    return term;
}

/* Cuts the value of an option at its commas; `*copy` holds the text. */
static int read_terms(struct dbr_signal_terms *terms, const struct option_values *values,
                      const char *name, char **copy)
{
    const char *text = option_value(values, name);

    if (!text)
        return 0;
    *copy = strdup(text);
    if (!*copy) {
        complain("out of memory");
        return -1;
    }
    for (char *at = *copy; at;) {
        char *comma = strchr(at, ',');
        if (comma)
            *comma = '\0';
        const char *term = trimmed(at);
        if (term[0] == '\0' || terms->count == DBR_PRINT_TERMS_MAX) {
            complain("--%s %s: expected %s, at most %u of them", name, text,
                     "names or numbers between commas", DBR_PRINT_TERMS_MAX);
            return -1;
        }
        terms->items[terms->count++] = term;
        at = comma ? comma + 1 : NULL;
    }
    return 0;
}

/* A destination-specific group ends in 00: what stands there in an identifier is an address. */
static int check_pgns(const struct number_list *pgns)
{
    for (size_t i = 0; i < pgns->count; i++) {
        uint32_t pgn = pgns->ranges[i].low;
        bool specific = !dbr_pgn_is_broadcast(pgn);
        if (pgn == pgns->ranges[i].high && specific && (pgn & 0xFFu) != 0) {
            complain("--pgn %u: no parameter group has this number; groups with a destination end "
                     "in 00, as %u (0x%X) does", pgn, pgn & ~0xFFu, pgn & ~0xFFu);
            return -1;
        }
    }
    return 0;
}

static int read_format(struct print_job *job, const struct option_values *values)
{
    const char *names[] = {dbr_print_form_name(0), dbr_print_form_name(1), dbr_print_form_name(2),
                           NULL};
    int format = request_word(values, "format", names);

    if (format < 0)
        return -1;
    job->options.form = (size_t)format;
    if (job->options.columns.count == 0)
        return 0;
    while (!option_given(values, "format") && !dbr_print_form_has_columns(job->options.form))
        job->options.form++;
    if (dbr_print_form_has_columns(job->options.form))
        return 0;
    complain("--signals makes a table: it goes with --format csv, not %s", names[format]);
    return -1;
}

static int read_job(struct print_job *job, const struct option_values *values)
{
    if (request_read(values, &job->request) < 0 ||
        number_list_read(&job->pgns, values, "pgn", DBR_PGN_MAX) < 0 ||
        check_pgns(&job->pgns) < 0 ||
        number_list_read(&job->addresses, values, "address", DBR_ADDRESS_NULL) < 0 ||
        number_list_read(&job->destinations, values, "destination", DBR_ADDRESS_GLOBAL) < 0 ||
        read_terms(&job->options.only, values, "signal", &job->terms[0]) < 0 ||
        read_terms(&job->options.columns, values, "signals", &job->terms[1]) < 0)
        return -1;
    job->options.fragments = option_given(values, "frames");
    job->request.reading.lead_in = true;
    return read_format(job, values);
}

static bool is_filtered(const struct print_job *job)
{
    return job->pgns.count > 0 || job->addresses.count > 0 || job->destinations.count > 0;
}

static bool is_wanted(const struct print_job *job, const struct dbr_seen *seen)
{
    if (seen->at_ns < job->info->from_ns)
        return false;
    if (seen->kind == DBR_SEEN_FRAME)
        return !is_filtered(job);
    return number_list_has(&job->pgns, seen->id.pgn) &&
           number_list_has(&job->addresses, seen->id.source) &&
           number_list_has(&job->destinations, seen->id.destination);
}

static void message_seen(void *context, const struct dbr_seen *seen)
{
    struct print_job *job = context;

    if (is_wanted(job, seen))
        job->lines += dbr_printing_add(job->printing, seen);
}

static void take_frames(struct print_job *job, const struct dbr_batch *batch)
{
    for (size_t i = 0; i < batch->count; i++) {
        job->frames += batch->frames[i].at_ns >= job->info->from_ns;
        job->last_ns = batch->frames[i].at_ns;
        dbr_decoder_frame(job->decoder, &batch->frames[i]);
    }
}

static int print_frames(struct print_job *job, struct dbr_error *error)
{
    struct dbr_batch *batch = malloc(sizeof *batch);
    struct progress progress = progress_start();
    int count = -1;

    if (!batch)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    progress.on = progress.on && !isatty(STDOUT_FILENO); /* one would write over the other */
    batch->capacity = DBR_BATCH_FRAMES;
    while ((count = dbr_recording_next(job->recording, batch, error)) > 0) {
        take_frames(job, batch);
        progress_show(&progress, job->info->frames, job->info->last_ns);
        if (dbr_printing_flush(job->printing, error) < 0) {
            count = -1;
            break;
        }
    }
    progress_end(&progress);
    free(batch);
    if (count < 0)
        return -1;
    dbr_decoder_finish(job->decoder, job->last_ns);
    return dbr_decoder_transport(job->decoder)->out_of_memory
               ? dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory")
               : 0;
}

static int open_job(struct print_job *job, struct dbr_error *error)
{
    const struct option_values *values = job->request.values;

    if (request_check(&job->request, values->operands, values->operand_count, error) < 0)
        return -1;
    job->definitions = dbr_definitions_new(error);
    if (!job->definitions ||
        (job->request.definitions && dbr_definitions_load_directory(
                                         job->definitions, job->request.definitions, error) < 0) ||
        dbr_recording_open(&job->recording, values->operands, values->operand_count,
                           &job->request.reading, error) < 0)
        return -1;
    job->info = job->options.info = dbr_recording_info(job->recording);
    job->decoder = dbr_decoder_new(job->definitions, message_seen, job, error);
    job->printing = dbr_printing_new(stdout, job->definitions, &job->options, error);
    return job->decoder && job->printing ? 0 : -1;
}

static int run_job(struct print_job *job, struct dbr_error *error)
{
    const struct request *r = &job->request;

    if (open_job(job, error) < 0 || print_frames(job, error) < 0 ||
        dbr_printing_flush(job->printing, error) < 0 ||
        selection_found(r->values, &r->reading, job->info, job->frames, error) < 0)
        return -1;
    if (!r->quiet)
        print_notes(r->values, job->info, job->decoder, job->lines);
    return 0;
}

static void release_job(struct print_job *job)
{
    dbr_printing_free(job->printing);
    dbr_decoder_free(job->decoder);
    dbr_recording_close(job->recording);
    dbr_definitions_free(job->definitions);
    free(job->terms[0]);
    free(job->terms[1]);
}

int command_print(const struct option_values *values)
{
    struct print_job job = {.lines = 0};
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    int status = EXIT_CLEAN;

    if (values->operand_count == 0)
        return complain("print needs a recording: a file, several, or - for standard input");
    if (read_job(&job, values) < 0)
        status = EXIT_UNUSABLE;
    else if (run_job(&job, &error) < 0)
        status = complain_of(&error);
    release_job(&job);
    return status;
}
