/* json_transfers.c - messages in several frames, in the JSON report. */
#include "reporting/json.h"

void json_add_transfers(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_transfers *t = &r->history->transfers;
    cJSON *object = json_add_object(root, "transfers");

    json_add_count(object, "complete", t->complete);
    json_add_count(object, "unacknowledged", t->unacknowledged);
    json_add_count(object, "failed", t->failed);
    json_add_count(object, "unrecorded", t->unrecorded);
    json_add_count(object, "unfinished", t->unfinished);
    json_add_count(object, "refused", t->counts.refused);
    json_add_count(object, "without_data", t->counts.without_data);
    json_add_count(object, "stray_data", t->counts.stray_data);
    json_add_count(object, "stray_control", t->counts.stray_control);
    json_add_count(object, "kinds_beyond", t->flows_beyond + t->failures_beyond + t->strays_beyond);
}
