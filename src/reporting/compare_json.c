/* compare_json.c - the comparison for programs, schema "drawbar-compare/1". */
#include <math.h>
#include <stdlib.h>

#include "reporting/json.h"
#include "reporting/reports.h"

#define SCHEMA "drawbar-compare/1"

static void add_side(cJSON *root, const char *key, const struct dbr_side *side)
{
    cJSON *o = json_add_object(root, key);
    bool timed = side->history->timed;
    struct dbr_lines paths = {0, calloc(side->info->file_count, sizeof(const char *))};

    for (size_t i = 0; paths.items && i < side->info->file_count; i++)
        paths.items[paths.count++] = side->info->files[i].path;
    if (!paths.items && o)
        o->type = cJSON_Invalid; /* no memory: json_values.c */
    json_add_lines(o, "files", &paths);
    free((void *)paths.items);
    cJSON *early = json_add_list(o, "ends_early");
    for (size_t i = 0; i < side->info->file_count; i++)
        if (side->info->files[i].truncated)
            json_add_string(early, side->info->files[i].truncated_why);
    json_add_time(o, "start", side->info->start_ns, timed);
    json_add_time(o, "duration_s", side->info->last_ns, timed);
    json_add_count(o, "frames", side->info->frames);
    json_add_text(o, "sentence", side->diagnosis->verdict.sentence);
}

static void add_finding_side(cJSON *row, const char *key, const struct dbr_finding *f)
{
    if (!f) {
        json_add_null(row, key);
        return;
    }
    cJSON *o = json_add_object(row, key);
    json_add_text(o, "severity", dbr_severity_name(f->severity));
    json_add_text(o, "title", f->title);
    json_add_time(o, "start", f->start_ns, f->timed);
    json_add_time(o, "end", f->end_ns, f->timed && !f->open);
    json_add_count(o, "count", f->count);
    json_add_lines(o, "evidence", &f->evidence);
}

static void add_rows(cJSON *root, const struct dbr_comparison *c)
{
    cJSON *list = json_add_list(root, "findings");

    for (size_t i = 0; i < c->row_count; i++) {
        const struct dbr_comparison_row *row = &c->rows[i];
        const struct dbr_finding *f = row->before ? row->before : row->after;
        cJSON *item = json_add_item(list);
        json_add_text(item, "code", f->code);
        json_add_number(item, "address", f->address < 0 ? (double)NAN : f->address, 0);
        json_add_number(item, "pgn", f->pgn < 0 ? (double)NAN : f->pgn, 0);
        json_add_finding_code(item, f);
        json_add_text(item, "change", dbr_change_name(row->change));
        json_add_bool(item, "worse", comparison_worse(row));
        json_add_text(item, "why", row->why);
        add_finding_side(item, "before", row->before);
        add_finding_side(item, "after", row->after);
    }
}

int dbr_compare_json(FILE *out, const struct dbr_comparison *c, struct dbr_error *error)
{
    cJSON *root = cJSON_CreateObject();
    char sentence[256];

    json_add_text(root, "schema", SCHEMA);
    json_add_program(root);
    add_side(root, "before", &c->before);
    add_side(root, "after", &c->after);
    add_rows(root, c);
    cJSON *verdict = json_add_object(root, "verdict");
    json_add_bool(verdict, "repaired", c->repaired);
    json_add_text(verdict, "sentence", comparison_sentence(sentence, sizeof sentence, c));
    return json_print(out, root, error);
}
