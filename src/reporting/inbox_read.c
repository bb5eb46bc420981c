/* inbox_read.c - the findings of a report, on their way to findings.ndjson and to histories. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/inbox.h"
#include "reporting/json.h"
#include "text/clean.h"

/* What one finding is, beside what its object tells. */
struct reading {
    struct dbr_inbox *inbox;
    size_t row;
    const cJSON *finding;
    const char *code, *ecu;
    enum dbr_severity severity;
    bool root;
};

static enum dbr_severity severity_of(const char *name)
{
    return name && strcmp(name, "fault") == 0     ? DBR_FAULT
           : name && strcmp(name, "warning") == 0 ? DBR_WARNING
                                                  : DBR_NOTE;
}

static bool is_root(const cJSON *report, int index)
{
    const cJSON *verdict = cJSON_GetObjectItemCaseSensitive(report, "verdict");
    const cJSON *root = cJSON_GetObjectItemCaseSensitive(verdict, "root_causes");

    root = root ? root->child : NULL;
    for (size_t i = 0; root && i < DBR_FINDINGS_MAX; i++, root = root->next)
        if (cJSON_IsNumber(root) && root->valueint == index)
            return true;
    return false;
}

static void add_numbers(cJSON *line, const cJSON *finding, const char *const *keys)
{
    for (; *keys; keys++)
        json_add_number(line, *keys, inbox_number(finding, *keys), 6);
}

/* One flat object: a database takes it as it is. */
static cJSON *finding_line(const struct reading *r)
{
    static const char *const place[] = {"address", "pgn", "spn", "fmi", NULL};
    static const char *const times[] = {"start", "end", "count", NULL};
    const struct inbox_row *row = &r->inbox->rows[r->row];
    cJSON *line = cJSON_CreateObject();
    char stamp[INBOX_STAMP_SIZE];

    json_add_text(line, "path", row->path);
    json_add_text(line, "machine", row->machine[0] ? row->machine : NULL);
    json_add_text(line, "ecu_name", r->ecu[0] ? r->ecu : NULL);
    json_add_text(line, "code", r->code);
    json_add_text(line, "severity", dbr_severity_name(r->severity));
    json_add_bool(line, "root", r->root);
    json_add_text(line, "section", inbox_text(r->finding, "section"));
    json_add_text(line, "interface", inbox_text(r->finding, "interface"));
    add_numbers(line, r->finding, place);
    inbox_stamp(stamp, row->start + inbox_number(r->finding, "start"), 3);
    json_add_text(line, "start_utc", stamp[0] ? stamp : NULL);
    add_numbers(line, r->finding, times);
    json_add_text(line, "title", inbox_text(r->finding, "title"));
    return line;
}

/* Without its "{", before which the ID will stand once it is known. */
static int spool_line(const struct reading *r, struct dbr_error *error)
{
    cJSON *line = finding_line(r);
    char *text = cJSON_PrintUnformatted(line);
    int written = text ? fprintf(r->inbox->spool, "%s\n", text + 1) : 0;

    cJSON_Delete(line);
    if (!text)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    cJSON_free(text);
    if (written < 0)
        return dbr_error_set(error, DBR_ERROR_WRITE, "the findings cannot be kept on disk");
    r->inbox->spooled += written;
    return 0;
}

static bool count_code(struct inbox_row *row, const struct reading *r)
{
    size_t i = 0;

    while (i < row->code_count && strncmp(row->codes[i].code, r->code, INBOX_CODE_SIZE - 1) != 0)
        i++;
    if (i == row->code_count) {
        struct inbox_code *larger = realloc(row->codes, (i + 1) * sizeof *larger);
        if (!larger)
            return false;
        row->codes = larger;
        row->codes[row->code_count++] = (struct inbox_code){.severity = r->severity};
        snprintf(row->codes[i].code, INBOX_CODE_SIZE, "%s", r->code);
    }
    struct inbox_code *code = &row->codes[i];
    code->severity = r->severity > code->severity ? r->severity : code->severity;
    code->root = code->root || r->root;
    code->count++;
    return true;
}

static bool same_event(const struct inbox_event *a, const struct inbox_event *b)
{
    return a->row == b->row && a->pgn == b->pgn && a->spn == b->spn && a->fmi == b->fmi &&
           strcmp(a->code, b->code) == 0 && strcmp(a->ecu, b->ecu) == 0;
}

/* Once an upload; without a NAME nobody knows whether it came back. */
static bool add_event(struct dbr_inbox *inbox, const struct reading *r)
{
    const struct inbox_row *row = &inbox->rows[r->row];
    const char *title = inbox_text(r->finding, "title");
    struct inbox_event event = {.row = r->row,
                                .pgn = inbox_whole(r->finding, "pgn"),
                                .spn = inbox_whole(r->finding, "spn"),
                                .fmi = inbox_whole(r->finding, "fmi"),
                                .severity = r->severity};

    if (r->severity == DBR_NOTE || (!r->ecu[0] && !row->machine[0]))
        return true;
    snprintf(event.code, sizeof event.code, "%s", r->code);
    snprintf(event.ecu, sizeof event.ecu, "%s", r->ecu[0] ? r->ecu : row->machine);
    for (size_t i = inbox->event_count; i-- > 0 && inbox->events[i].row == r->row;)
        if (same_event(&inbox->events[i], &event))
            return true;
    if (inbox->event_count >= DBR_INBOX_EVENTS_MAX) {
        inbox->events_beyond++;
        return true;
    }
    if (!inbox_room((void **)&inbox->events, inbox->event_count, &inbox->event_room,
                    sizeof *inbox->events))
        return false;
    event.title = inbox_kept(title ? title : r->code);
    inbox->events[inbox->event_count] = event;
    inbox->event_count += event.title != NULL;
    return event.title != NULL;
}

static int by_weight(const void *left, const void *right)
{
    const struct inbox_code *a = left, *b = right;

    if (a->root != b->root)
        return a->root ? -1 : 1;
    if (a->severity != b->severity)
        return a->severity > b->severity ? -1 : 1;
    return strcmp(a->code, b->code);
}

static void judge(struct inbox_row *row)
{
    static const enum dbr_worst worst[] = {
        [DBR_NOTE] = DBR_WORST_NOTE, [DBR_WARNING] = DBR_WORST_WARNING, [DBR_FAULT] = DBR_WORST_FAULT};

    for (size_t i = 0; i < row->code_count; i++)
        if (worst[row->codes[i].severity] > row->worst)
            row->worst = worst[row->codes[i].severity];
    if (row->code_count > 0)
        qsort(row->codes, row->code_count, sizeof row->codes[0], by_weight);
}

int inbox_read_findings(struct dbr_inbox *inbox, size_t at, const cJSON *report,
                        struct dbr_error *error)
{
    struct inbox_row *row = &inbox->rows[at];
    const cJSON *findings = cJSON_GetObjectItemCaseSensitive(report, "findings");
    struct reading r = {.inbox = inbox, .row = at};
    int index = 0;

    row->spool_at = inbox->spooled;
    cJSON_ArrayForEach(r.finding, findings) {
        if (row->finding_count == DBR_FINDINGS_MAX) { /* no report of ours has more */
            inbox->events_beyond++;
            continue;
        }
        r.code = inbox_text(r.finding, "code");
        r.code = r.code ? r.code : "";
        r.severity = severity_of(inbox_text(r.finding, "severity"));
        r.root = is_root(report, index++);
        r.ecu = inbox_name_at(report, inbox_text(r.finding, "interface"),
                              inbox_whole(r.finding, "address"), NULL);
        if (!count_code(row, &r) || !add_event(inbox, &r))
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        if (spool_line(&r, error) < 0)
            return -1;
        row->finding_count++;
    }
    row->spool_length = inbox->spooled - row->spool_at;
    judge(row);
    return 0;
}
