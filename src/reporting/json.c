/* json.c - the JSON report, schema "drawbar-report/1". Keys may be added, never renamed. */
#include "reporting/json.h"

#include <math.h>
#include <stdlib.h>

#include "reporting/reports.h"

#define SCHEMA "drawbar-report/1"

static const char *time_base_name(enum dbr_time_base base)
{
    switch (base) {
    case DBR_TIME_EPOCH:
        return "epoch";
    case DBR_TIME_RELATIVE:
        return "relative";
    case DBR_TIME_NONE:
        break;
    }
    return "none";
}

void json_add_program(cJSON *root)
{
    cJSON *program = json_add_object(root, "program");

    json_add_text(program, "name", "drawbar");
    json_add_text(program, "version", DRAWBAR_VERSION);
}

void json_add_head(cJSON *root)
{
    json_add_text(root, "schema", SCHEMA);
    json_add_program(root);
}

/* The rejection that came first; null where nothing was rejected. */
static void add_first_rejected(cJSON *object, const struct dbr_file_info *file)
{
    const struct dbr_rejected *first = NULL;
    enum dbr_rejection why = DBR_REJECTION_NOT_A_FRAME;

    for (int i = 0; i < DBR_REJECTION_COUNT; i++) {
        const struct dbr_rejected *kind = &file->rejections[i];
        if (kind->count > 0 && (!first || kind->first_at < first->first_at)) {
            first = kind;
            why = (enum dbr_rejection)i;
        }
    }
    if (!first) {
        json_add_null(object, "first_rejected");
        return;
    }
    cJSON *item = json_add_object(object, "first_rejected");
    json_add_count(item, "at", first->first_at);
    json_add_text(item, "reason", dbr_rejection_words(why));
}

static void add_rejections(cJSON *object, const struct dbr_file_info *file)
{
    cJSON *list = json_add_list(object, "rejections");

    for (int i = 0; i < DBR_REJECTION_COUNT; i++) {
        if (file->rejections[i].count == 0)
            continue;
        cJSON *item = json_add_item(list);
        json_add_text(item, "reason", dbr_rejection_words((enum dbr_rejection)i));
        json_add_count(item, "count", file->rejections[i].count);
        json_add_count(item, "first_at", file->rejections[i].first_at);
    }
}

static void add_files(cJSON *recording, const struct dbr_report *r)
{
    const struct dbr_recording_info *info = r->info;
    cJSON *list = json_add_list(recording, "files");

    for (size_t i = 0; i < info->file_count; i++) {
        const struct dbr_file_info *f = &info->files[i];
        cJSON *file = json_add_item(list);
        json_add_text(file, "path", f->path);
        if (r->upload)
            json_add_text(file, "sha256", upload_digest(r->upload, f->path));
        json_add_text(file, "format", f->format);
        json_add_text(file, "compression", f->compressed ? "gzip" : "none");
        json_add_count(file, "records", f->records);
        json_add_count(file, "frames", f->frames);
        json_add_count(file, "rejected", f->rejected);
        add_first_rejected(file, f);
        add_rejections(file, f);
        json_add_bool(file, "truncated", f->truncated);
        json_add_text(file, "truncated_reason", f->truncated ? f->truncated_why : NULL);
    }
}

static bool any_error_frame(const struct dbr_history *h)
{
    for (size_t i = 0; i < h->bus_count; i++)
        if (h->buses[i].error_frames > 0)
            return true;
    return false;
}

static void add_recording(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_recording_info *info = r->info;
    cJSON *recording = json_add_object(root, "recording");
    bool timed = info->time_base != DBR_TIME_NONE;

    json_add_time(recording, "start", info->start_ns, timed);
    json_add_text(recording, "time_base", time_base_name(info->time_base));
    json_add_time(recording, "duration_s", info->last_ns, timed);
    json_add_count(recording, "frames", info->frames);
    json_add_count(recording, "sent_copies", info->copies);
    json_add_count(recording, "clock_steps", info->steps_back.count);
    json_add_count(recording, "clock_steps_ahead", info->steps_ahead.count);
    struct dbr_lines interfaces = {info->interface_count,
                                   (const char **)(uintptr_t)info->interfaces};
    json_add_lines(recording, "interfaces", &interfaces);
    json_add_bool(recording, "error_frames_recorded", any_error_frame(r->history));
    add_files(recording, r);
}

static void add_numbers(cJSON *object, const char *key, const size_t *values, size_t count)
{
    cJSON *list = json_add_list(object, key);

    for (size_t i = 0; i < count; i++)
        json_add_index(list, values[i]);
}

static void add_finding(cJSON *list, const struct dbr_report *r, const struct dbr_finding *f)
{
    cJSON *item = json_add_item(list);

    json_add_text(item, "code", f->code);
    json_add_text(item, "severity", dbr_severity_name(f->severity));
    json_add_text(item, "interface", f->interface < 0 ? NULL : r->info->interfaces[f->interface]);
    json_add_number(item, "address", f->address < 0 ? (double)NAN : f->address, 0);
    if (f->address_count > 0) {
        cJSON *addresses = json_add_list(item, "addresses");
        for (size_t i = 0; i < f->address_count; i++)
            json_add_index(addresses, f->addresses[i]);
    }
    json_add_number(item, "pgn", f->pgn < 0 ? (double)NAN : f->pgn, 0);
    json_add_finding_code(item, f);
    json_add_time(item, "start", f->start_ns, f->timed);
    json_add_time(item, "end", f->end_ns, f->timed && !f->open);
    json_add_count(item, "count", f->count);
    json_add_text(item, "section", f->section);
    json_add_text(item, "title", f->title);
    json_add_lines(item, "evidence", &f->evidence);
    add_numbers(item, "because_of", f->causes, f->cause_count);
    json_add_lines(item, "checks", &f->checks);
    json_add_lines(item, "cautions", &f->cautions);
}

static void add_diagnosis(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_diagnosis *d = r->diagnosis;

    cJSON *findings = json_add_list(root, "findings");
    for (size_t i = 0; i < d->finding_count; i++)
        add_finding(findings, r, &d->findings[i]);
    json_add_count(root, "findings_dropped", d->findings_dropped);
    json_add_lines(root, "cannot_tell", &d->cannot_tell);
    json_add_lines(root, "record_better", &d->record_better);
    cJSON *verdict = json_add_object(root, "verdict");
    add_numbers(verdict, "root_causes", d->verdict.root_causes, d->verdict.root_cause_count);
    json_add_text(verdict, "sentence", d->verdict.sentence);
}

int json_print(FILE *out, cJSON *root, struct dbr_error *error)
{
    char *text = cJSON_Print(root);

    cJSON_Delete(root);
    if (!text)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    fputs(text, out);
    fputc('\n', out);
    free(text);
    return report_written(out, error);
}

cJSON *json_report(const struct dbr_report *report)
{
    cJSON *root = cJSON_CreateObject();

    json_add_head(root);
    if (report->upload)
        json_add_upload(root, report->upload, true);
    add_recording(root, report);
    json_add_buses(root, report);
    json_add_ecus(root, report);
    json_add_sources(root, report);
    json_add_chain(root, report);
    json_add_transfers(root, report);
    json_add_devices(root, report);
    json_add_codes(root, report);
    add_diagnosis(root, report);
    return root;
}

int dbr_report_json(FILE *out, const struct dbr_report *report, struct dbr_error *error)
{
    return json_print(out, json_report(report), error);
}
