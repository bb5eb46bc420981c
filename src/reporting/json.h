/*
 * json.h - small helpers over cJSON: values that may be unknown, texts that may be hostile.
 *
 * cJSON prints NaN as null without a word and passes bytes that are not UTF-8;
 * here unknown is null on purpose, and texts are cleaned first.
 */
#ifndef DRAWBAR_REPORTING_JSON_H
#define DRAWBAR_REPORTING_JSON_H

#include <stdbool.h>
#include <stdint.h>

#include <cjson/cJSON.h>

#include "drawbar/reporting.h"

/*
 * Each adds a member `key` to `object`. Where memory is out, the object is spoilt:
 * cJSON then refuses to print the whole, so that no report lacks a member unnoticed.
 */
void json_add_number(cJSON *object, const char *key, double value, unsigned decimals);
void json_add_count(cJSON *object, const char *key, uint64_t value);
void json_add_text(cJSON *object, const char *key, const char *text); /* NULL: null */
void json_add_bool(cJSON *object, const char *key, bool value);
void json_add_null(cJSON *object, const char *key);

/* A time in seconds to the microsecond, or null where it is unknown. */
void json_add_time(cJSON *object, const char *key, int64_t ns, bool known);

cJSON *json_add_object(cJSON *object, const char *key);
cJSON *json_add_list(cJSON *object, const char *key);
cJSON *json_add_item(cJSON *list); /* an object at its end */
void json_add_index(cJSON *list, size_t value);
void json_add_string(cJSON *list, const char *text);
void json_add_lines(cJSON *object, const char *key, const struct dbr_lines *lines);

/* A list of {"start", "end"}; beside it "KEY_folded", how many more there were. */
void json_add_spells(cJSON *object, const char *key, const struct dbr_spells *spells);

/* json.c: the schema and who wrote it, which every report begins with. */
void json_add_head(cJSON *root);

/* json_upload.c: what the inbox must know of a recording; the digest of a file, NULL: not known. */
void json_add_upload(cJSON *root, const struct dbr_upload_mark *upload, bool usable);
const char *upload_digest(const struct dbr_upload_mark *upload, const char *path);

/* json.c: who wrote it; the text of the whole, which is freed with it. */
void json_add_program(cJSON *root);
int json_print(FILE *out, cJSON *root, struct dbr_error *error);

/* json.c: the whole report as a tree, for the caller to print and delete. */
cJSON *json_report(const struct dbr_report *report);

/* page_closeup.c: values as they came around the moments of findings; in pages alone. */
void json_add_closeups(cJSON *root, const struct dbr_report *r, size_t drawn);

/* json_tracking.c: the parts of the report that come from the history. */
void json_add_buses(cJSON *root, const struct dbr_report *r);
void json_add_ecus(cJSON *root, const struct dbr_report *r);
/* json_identity.c: what an ECU told about itself, what it can do, with whom it works. */
void json_add_identity(cJSON *ecu, const struct dbr_history *h, const struct dbr_ecu *of);

void json_add_sources(cJSON *root, const struct dbr_report *r);
void json_add_chain(cJSON *root, const struct dbr_report *r);

/* json_transfers.c: counts of messages in several frames. */
void json_add_transfers(cJSON *root, const struct dbr_report *r);

/* json_devices.c: what implements described of themselves. */
void json_add_devices(cJSON *root, const struct dbr_report *r);

/* json_codes.c: what ECUs say of themselves; the code that a finding is about. */
void json_add_codes(cJSON *root, const struct dbr_report *r);
void json_add_finding_code(cJSON *object, const struct dbr_finding *f);

#endif
