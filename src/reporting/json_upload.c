/* json_upload.c - what the inbox must know of a recording; what stands in place of its report. */
#include <string.h>

#include "reporting/json.h"
#include "text/clean.h"

const char *upload_digest(const struct dbr_upload_mark *upload, const char *path)
{
    for (size_t i = 0; i < upload->count; i++)
        if (strcmp(upload->paths[i], path) == 0 && upload->sha256[i][0] != '\0')
            return upload->sha256[i];
    return NULL;
}

/* It stands at the head of the file: whoever asks whether it still holds reads no further. */
void json_add_upload(cJSON *root, const struct dbr_upload_mark *upload, bool usable)
{
    cJSON *inbox = json_add_object(root, "inbox");

    json_add_text(inbox, "made_with", upload->made_with);
    json_add_bool(inbox, "usable", usable);
    json_add_text(inbox, "sha256",
                  upload->count > 0 && upload->sha256[0][0] ? upload->sha256[0] : NULL);
}

/* Whoever shows the reason shows the path beside it. */
static const char *without_path(const char *reason, const struct dbr_upload_mark *upload)
{
    char path[DBR_INBOX_PATH_MAX]; /* as it stands in errors: drawbar/error.h */

    for (size_t i = 0; i < upload->count; i++) {
        size_t length = strlen(clean_text(path, sizeof path, upload->paths[i]));
        if (strncmp(reason, path, length) == 0 && strncmp(reason + length, ": ", 2) == 0)
            return reason + length + 2;
    }
    return reason;
}

int dbr_report_failure_json(FILE *out, const struct dbr_upload_mark *upload, const char *reason,
                            struct dbr_error *error)
{
    cJSON *root = cJSON_CreateObject();

    json_add_head(root);
    json_add_upload(root, upload, false);
    cJSON *files = json_add_list(json_add_object(root, "recording"), "files");
    for (size_t i = 0; i < upload->count; i++) {
        cJSON *file = json_add_item(files);
        json_add_text(file, "path", upload->paths[i]);
        json_add_text(file, "sha256", upload_digest(upload, upload->paths[i]));
    }
    json_add_text(root, "error", without_path(reason, upload));
    return json_print(out, root, error);
}
