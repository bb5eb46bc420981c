/*
 * rig.c - rig files: loaded, and set against a recording that has what a rig speaks of.
 */
#include <math.h>
#include <string.h>

#include "drawbar/rig.h"
#include "fuzz/memory_file.h"
#include "fuzz/reports.h"
#include "fuzz/target.h"
#include "fuzz/texts.h"
#include "support/story.h"

static void rig_must_hold(const struct dbr_rig *rig)
{
    MUST(rig->name != NULL);
    MUST(rig->section_count <= DBR_RIG_SECTIONS_MAX && rig->ecu_count <= DBR_RIG_ECUS_MAX);
    MUST(rig->recorder_in >= -1 && rig->recorder_in < (int)rig->section_count);
    MUST(rig->product_count <= DBR_RIG_PRODUCTS_MAX);
    MUST(isnan(rig->working_width_m) ||
         (isfinite(rig->working_width_m) && rig->working_width_m > 0));
    for (size_t i = 0; i < rig->section_count; i++)
        MUST(rig->sections[i] != NULL);
    for (size_t i = 0; i < rig->ecu_count; i++)
        MUST(rig->ecus[i].section < rig->section_count && rig->ecus[i].label != NULL);
    for (size_t i = 0; i < rig->product_count; i++)
        MUST(rig->products[i].label && isfinite(rig->products[i].mass_per_revolution_kg));
}

static void rig_must_find(const struct dbr_rig *rig, const struct dbr_history *history)
{
    for (size_t i = 0; i < history->ecu_count; i++) {
        int found = dbr_rig_find(rig, &history->ecus[i]);
        MUST(found >= -1 && found < (int)rig->ecu_count);
        MUST(found < 0 || dbr_rig_fits(rig, (size_t)found, &history->ecus[i]));
    }
}

/* A tractor and a spreader whose axle sensor is dead, in 90 s. */
static struct outcome *machine;

static void judged_must_hold(const struct dbr_rig *rig)
{
    const struct report_wish wish = {
        .info = &machine->info, .history = machine->history, .rig = rig};
    struct dbr_diagnosis *diagnosis = diagnosis_must_hold(&wish);

    reports_must_hold(&wish, diagnosis);
    dbr_diagnosis_free(diagnosis);
}

static void rig_run(const uint8_t *data, size_t size)
{
    static struct memory_file file;
    struct dbr_error error = {.code = DBR_ERROR_NONE};

    memory_file_put(&file, data, size);
    struct dbr_rig *rig = dbr_rig_load(file.path, &error);
    if (!rig) {
        MUST(error.code != DBR_ERROR_NONE && strncmp(error.text, file.path, strlen(file.path)) == 0);
        MUST_NOT(text_flaw(error.text, strlen(error.text), TEXT_LINES));
        return;
    }
    if (!machine)
        machine = story_tell(story_field(0.0));
    rig_must_hold(rig);
    rig_must_find(rig, machine->history);
    judged_must_hold(rig);
    dbr_rig_free(rig);
}

const struct fuzz_target rig_target = {.name = "rig", .size_max = 4096, .run = rig_run};
