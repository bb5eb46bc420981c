/* inbox_ndjson.c - uploads and findings for other systems: one flat object a line. */
#include <stdlib.h>
#include <string.h>

#include "reporting/inbox.h"
#include "reporting/json.h"
#include "reporting/reports.h"

#define PIECE 4096u

static const char *known(const char *text)
{
    return text && text[0] ? text : NULL;
}

/* The codes of what nothing else explains, with a blank between them. */
static void add_roots(cJSON *line, const struct inbox_row *row)
{
    char text[DBR_INBOX_CODES_SHOWN * (INBOX_CODE_SIZE + 1)] = "";
    size_t used = 0;

    for (size_t i = 0; i < row->code_count && i < DBR_INBOX_CODES_SHOWN; i++)
        if (row->codes[i].root)
            used += (size_t)snprintf(text + used, sizeof text - used, "%s%s", used ? " " : "",
                                     row->codes[i].code);
    json_add_text(line, "root_codes", row->error ? NULL : text);
}

static cJSON *upload_line(const struct dbr_inbox *inbox, const struct inbox_row *row)
{
    cJSON *line = cJSON_CreateObject();
    char stamp[INBOX_STAMP_SIZE], page[DBR_DIGEST_HEX_SIZE + 16];

    snprintf(page, sizeof page, "reports/%s.html", row->id);
    json_add_text(line, "upload", known(row->id));
    json_add_text(line, "path", row->path);
    json_add_text(line, "page", row->page ? page : NULL);
    json_add_text(line, "sha256", known(row->sha256));
    json_add_text(line, "duplicate_of",
                  row->original == INBOX_NONE ? NULL : inbox->rows[row->original].path);
    json_add_text(line, "machine", known(row->machine));
    json_add_text(line, "implement", known(row->implement));
    json_add_text(line, "implement_label", row->implement_label);
    json_add_text(line, "tractor", known(row->tractor));
    json_add_text(line, "tractor_label", row->tractor_label);
    json_add_text(line, "start_utc", known(inbox_stamp(stamp, row->start, 3)));
    json_add_number(line, "duration_s", row->duration, 6);
    json_add_number(line, "frames", row->frames, 0);
    json_add_number(line, "rejected", row->rejected, 0);
    json_add_text(line, "format", row->format);
    json_add_text(line, "worst", inbox_worst_name(row->worst));
    json_add_text(line, "verdict", row->sentence);
    add_roots(line, row);
    json_add_text(line, "error", row->error);
    return line;
}

int dbr_inbox_uploads(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error)
{
    for (size_t i = 0; i < inbox->order_count; i++) {
        cJSON *line = upload_line(inbox, &inbox->rows[inbox->order[i]]);
        char *text = cJSON_PrintUnformatted(line);
        cJSON_Delete(line);
        if (!text)
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        fprintf(out, "%s\n", text);
        cJSON_free(text);
    }
    return report_written(out, error);
}

/* Lines from the spool, each behind the ID that it lacks. */
static int copy_lines(FILE *out, const struct dbr_inbox *inbox, const struct inbox_row *row)
{
    char piece[PIECE];
    long left = row->spool_length;
    bool begins = true;

    if (fseek(inbox->spool, row->spool_at, SEEK_SET) != 0)
        return -1;
    while (left > 0) {
        size_t wanted = left < (long)sizeof piece ? (size_t)left : sizeof piece;
        size_t count = fread(piece, 1, wanted, inbox->spool);
        if (count == 0)
            return -1;
        for (size_t i = 0; i < count; i++) {
            if (begins && row->id[0])
                fprintf(out, "{\"upload\":\"%s\",", row->id);
            else if (begins)
                fputs("{\"upload\":null,", out);
            fputc(piece[i], out);
            begins = piece[i] == '\n';
        }
        left -= (long)count;
    }
    return 0;
}

int dbr_inbox_findings(FILE *out, const struct dbr_inbox *inbox, struct dbr_error *error)
{
    if (fflush(inbox->spool) != 0)
        return dbr_error_set(error, DBR_ERROR_WRITE, "the findings cannot be kept on disk");
    for (size_t i = 0; i < inbox->order_count; i++) {
        const struct inbox_row *row = &inbox->rows[inbox->order[i]];
        if (row->original == INBOX_NONE && copy_lines(out, inbox, row) < 0)
            return dbr_error_set(error, DBR_ERROR_READ, "the findings cannot be read back");
    }
    return report_written(out, error);
}
