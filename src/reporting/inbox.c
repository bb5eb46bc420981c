/* inbox.c - uploads of an inbox: what stays of each report (drawbar/inbox.h). */
#include "reporting/inbox.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "decoding/json_sound.h"
#include "text/clean.h"

#define SCHEMA "drawbar-report/1"
#define CUT_MARK "\xE2\x80\xA6" /* an ellipsis */

#define YEAR_10000_S 253402300800.0
#define DURATION_MAX_S 9223372036.0 /* times of a recording are 64 bits of ns */
#define COUNT_MAX 9007199254740992.0 /* 2^53: exact in a double */

/* Part of a NAME (ISO 11783-5): the function of a tractor ECU in agriculture, of no device class. */
#define TRACTOR_ECU_FUNCTION 134
#define GROUP_AGRICULTURE 2

const char *inbox_text(const cJSON *object, const char *key)
{
    return cJSON_GetStringValue(cJSON_GetObjectItemCaseSensitive(object, key));
}

double inbox_number(const cJSON *object, const char *key)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, key);
    return cJSON_IsNumber(item) ? item->valuedouble : (double)NAN;
}

int32_t inbox_whole(const cJSON *object, const char *key)
{
    double value = inbox_number(object, key);
    return value >= 0 && value <= INT32_MAX ? (int32_t)value : -1;
}

const char *inbox_stamp(char out[INBOX_STAMP_SIZE], double start, unsigned digits)
{
    out[0] = '\0';
    if (!(start >= 0 && start < YEAR_10000_S))
        return out;
    int64_t ms = (int64_t)(start * 1000.0 + 0.5);
    time_t seconds = (time_t)(ms / 1000);
    struct tm civil;
    char date[24];

    if (gmtime_r(&seconds, &civil) && strftime(date, sizeof date, "%Y-%m-%dT%H:%M:%S", &civil)) {
        if (digits > 0)
            snprintf(out, INBOX_STAMP_SIZE, "%s.%03dZ", date, (int)(ms % 1000));
        else
            snprintf(out, INBOX_STAMP_SIZE, "%sZ", date);
    }
    return out;
}

const char *inbox_worst_name(enum dbr_worst worst)
{
    static const char *const names[] = {"none", "note", "unusable", "warning", "fault"};
    return names[worst];
}

bool inbox_room(void **list, size_t count, size_t *room, size_t item)
{
    if (count < *room)
        return true;
    size_t wanted = *room > 0 ? 2 * *room : 64;
    void *larger = realloc(*list, wanted * item);
    if (!larger)
        return false;
    *list = larger;
    *room = wanted;
    return true;
}

char *inbox_kept(const char *text)
{
    size_t all = strlen(text) * CLEAN_GROWTH + 1;
    bool may_be_cut = all > DBR_INBOX_TEXT_MAX;
    size_t room = may_be_cut ? DBR_INBOX_TEXT_MAX : all;
    char *kept = malloc(room + sizeof CUT_MARK);

    if (!kept)
        return NULL;
    clean_text(kept, room, text);
    if (may_be_cut && strlen(kept) + UTF8_BYTES_MAX >= room)
        memcpy(kept + strlen(kept), CUT_MARK, sizeof CUT_MARK);
    return kept;
}

/* A harmless copy of a text of the row; of NULL it is NULL. */
static void copy(struct inbox_row *row, char **to, const char *text)
{
    *to = text ? inbox_kept(text) : NULL;
    if (text && !*to)
        row->out_of_memory = true;
}

const char *inbox_name_at(const cJSON *report, const char *interface, int address,
                          const char **label)
{
    const cJSON *ecus = cJSON_GetObjectItemCaseSensitive(report, "ecus");
    const cJSON *ecu = ecus ? ecus->child : NULL;

    for (size_t i = 0; ecu && i < DBR_ECUS_MAX; i++, ecu = ecu->next) {
        const char *of = inbox_text(ecu, "interface"), *name = inbox_text(ecu, "name");
        if (inbox_whole(ecu, "address") != address || !of || !interface ||
            strcmp(of, interface) != 0)
            continue;
        if (label)
            *label = inbox_text(ecu, "label");
        return name ? name : "";
    }
    return "";
}

static void take_name(char out[INBOX_NAME_SIZE], const char *name)
{
    char clean[INBOX_NAME_SIZE * CLEAN_GROWTH + 1];
    snprintf(out, INBOX_NAME_SIZE, "%.16s", clean_text(clean, sizeof clean, name));
}

static bool comes_before(const char *name, const char *than)
{
    return name[0] != '\0' && (than[0] == '\0' || strcmp(name, than) < 0);
}

/* The lowest NAME of those that lead a chain: an implement. */
static void find_implement(struct inbox_row *row, const cJSON *report)
{
    const char *best = "", *best_label = NULL;
    const cJSON *chain;

    cJSON_ArrayForEach(chain, cJSON_GetObjectItemCaseSensitive(report, "chain")) {
        const char *label = NULL;
        const char *name = inbox_name_at(report, inbox_text(chain, "interface"),
                                         inbox_whole(chain, "implement"), &label);
        if (comes_before(name, best)) {
            best = name;
            best_label = label;
        }
    }
    take_name(row->implement, best);
    copy(row, &row->implement_label, best_label);
}

/* The machine is its implement, else its tractor, else the ECU with the lowest NAME. */
static void find_machine(struct inbox_row *row, const cJSON *report)
{
    const char *tractor = "", *label = NULL, *lowest = "";
    const cJSON *ecu;

    find_implement(row, report);
    cJSON_ArrayForEach(ecu, cJSON_GetObjectItemCaseSensitive(report, "ecus")) {
        const char *name = inbox_text(ecu, "name");
        if (!name)
            continue;
        if (comes_before(name, lowest))
            lowest = name;
        if (inbox_whole(ecu, "function") == TRACTOR_ECU_FUNCTION &&
            inbox_whole(ecu, "industry_group") == GROUP_AGRICULTURE &&
            inbox_whole(ecu, "device_class") == 0 && comes_before(name, tractor)) {
            tractor = name;
            label = inbox_text(ecu, "label");
        }
    }
    take_name(row->tractor, tractor);
    copy(row, &row->tractor_label, label);
    take_name(row->machine, row->implement[0] ? row->implement : tractor[0] ? tractor : lowest);
}

/* A figure as drawbar writes it; NAN for what only a stranger's report can hold. */
static double within(const cJSON *object, const char *key, double most)
{
    double value = inbox_number(object, key);
    return value >= 0 && value < most ? value + 0.0 /* -0 is 0 */ : (double)NAN;
}

static void read_recording(struct inbox_row *row, const cJSON *report)
{
    const cJSON *recording = cJSON_GetObjectItemCaseSensitive(report, "recording");
    const cJSON *file;
    const char *base = inbox_text(recording, "time_base");

    if (base && strcmp(base, "epoch") == 0)
        row->start = within(recording, "start", YEAR_10000_S);
    row->duration = within(recording, "duration_s", DURATION_MAX_S);
    row->frames = within(recording, "frames", COUNT_MAX);
    cJSON_ArrayForEach(file, cJSON_GetObjectItemCaseSensitive(recording, "files")) {
        double rejected = within(file, "rejected", COUNT_MAX);
        if (!isnan(rejected))
            row->rejected = isnan(row->rejected) ? rejected : row->rejected + rejected;
        if (!row->format)
            copy(row, &row->format, inbox_text(file, "format"));
    }
}

/* Path and digest as the report has them, unless the caller knows better. */
static void identify(struct inbox_row *row, const struct dbr_inbox_upload *u, const cJSON *report)
{
    const cJSON *recording = cJSON_GetObjectItemCaseSensitive(report, "recording");
    const cJSON *file =
        cJSON_GetArrayItem(cJSON_GetObjectItemCaseSensitive(recording, "files"), 0);
    const char *path = u->path ? u->path : inbox_text(file, "path");
    const char *sha256 = u->sha256 ? u->sha256 : inbox_text(file, "sha256");

    path = path ? path : "";
    while (strncmp(path, "./", 2) == 0 && path[2] != '\0')
        path += 2;
    copy(row, &row->path, path);
    if (sha256 && strlen(sha256) == DBR_DIGEST_HEX_SIZE - 1 &&
        strspn(sha256, "0123456789abcdef") == DBR_DIGEST_HEX_SIZE - 1)
        snprintf(row->sha256, sizeof row->sha256, "%s", sha256);
}

static int read_row(struct dbr_inbox *inbox, size_t at, const struct dbr_inbox_upload *u,
                    const cJSON *report, struct dbr_error *error)
{
    struct inbox_row *row = &inbox->rows[at];
    const char *failure = report ? inbox_text(report, "error") : u->reason;

    identify(row, u, report);
    copy(row, &row->error, failure);
    if (row->out_of_memory)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    if (row->error) {
        row->worst = DBR_WORST_UNUSABLE;
        return 0;
    }
    row->page = u->page;
    read_recording(row, report);
    find_machine(row, report);
    copy(row, &row->sentence,
         inbox_text(cJSON_GetObjectItemCaseSensitive(report, "verdict"), "sentence"));
    if (row->out_of_memory)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    return inbox_read_findings(inbox, at, report, error);
}

struct dbr_inbox *dbr_inbox_new(FILE *spool, struct dbr_error *error)
{
    struct dbr_inbox *inbox = calloc(1, sizeof *inbox);

    if (inbox)
        inbox->spool = spool;
    else
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    return inbox;
}

/* Before it is parsed, which would take many times its bytes: as many values as there are marks
 * that begin or part them. Those within texts count as well; a report of ours has few. */
static bool is_too_large(const char *json)
{
    size_t values = 1;
    const char *at = json;

    for (; *at != '\0'; at++)
        values += *at == ',' || *at == '[' || *at == '{';
    return (size_t)(at - json) > DBR_INBOX_REPORT_MAX || values > DBR_INBOX_REPORT_VALUES_MAX;
}

static bool is_report(const cJSON *report)
{
    const char *schema = inbox_text(report, "schema");
    return schema && strcmp(schema, SCHEMA) == 0 &&
           (inbox_text(report, "error") ||
            cJSON_IsArray(cJSON_GetObjectItemCaseSensitive(report, "findings")));
}

int dbr_inbox_add(struct dbr_inbox *inbox, const struct dbr_inbox_upload *upload,
                  struct dbr_error *error)
{
    if (inbox->row_count >= DBR_INBOX_UPLOADS_MAX)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "more than %u uploads: divide the folder",
                             DBR_INBOX_UPLOADS_MAX);
    if (!inbox_room((void **)&inbox->rows, inbox->row_count, &inbox->row_room,
                    sizeof *inbox->rows))
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    if (upload->json && is_too_large(upload->json)) {
        dbr_error_set(error, DBR_ERROR_LIMIT, "has more than %u bytes or %u values",
                      DBR_INBOX_REPORT_MAX, DBR_INBOX_REPORT_VALUES_MAX);
        return 1;
    }
    cJSON *report = upload->json ? cJSON_Parse(upload->json) : NULL;
    if (upload->json && !report &&
        json_soundness(upload->json, strlen(upload->json)) == JSON_SOUND)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    if (upload->json && !is_report(report)) {
        cJSON_Delete(report);
        dbr_error_set(error, DBR_ERROR_FORMAT, "is no report of drawbar check");
        return 1;
    }
    inbox->rows[inbox->row_count] = (struct inbox_row){.start = (double)NAN,
                                                       .duration = (double)NAN,
                                                       .frames = (double)NAN,
                                                       .rejected = (double)NAN,
                                                       .original = INBOX_NONE,
                                                       .next_copy = INBOX_NONE};
    int status = read_row(inbox, inbox->row_count++, upload, report, error);
    cJSON_Delete(report);
    return status;
}

void dbr_inbox_free(struct dbr_inbox *inbox)
{
    if (!inbox)
        return;
    for (size_t i = 0; i < inbox->row_count; i++) {
        struct inbox_row *row = &inbox->rows[i];
        char *texts[] = {row->path,   row->error,           row->sentence,
                         row->format, row->implement_label, row->tractor_label};
        for (size_t t = 0; t < sizeof texts / sizeof texts[0]; t++)
            free(texts[t]);
        free(row->codes);
    }
    for (size_t i = 0; i < inbox->event_count; i++)
        free(inbox->events[i].title);
    free(inbox->rows);
    free(inbox->order);
    free(inbox->events);
    free(inbox->histories);
    free(inbox->machines);
    free(inbox);
}
