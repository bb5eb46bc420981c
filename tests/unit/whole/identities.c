/*
 * identities.c - who is who, from a file to the report: the same whatever the size of the batches,
 * so also where a batch ends amid a message of several frames.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "drawbar/reporting.h"
#include "support/kept.h"
#include "support/whole.h"

/* A spreader at 128 and its member at 140, and, as a broadcast, "M1*G spreader*S-42*1*" by each,
 * packet by packet in turn; the software in one frame. */
static const char recording[] =
    "(1.000000) can0 18EEFF80#0200E0FF00800AA0\n"
    "(1.100000) can0 18EEFF8C#0400E0FF00810AA0\n"
    "(1.200000) can0 1CFE0D80#02FFFFFFFFFFFFFF\n"
    "(1.300000) can0 1CFE0C80#0400E0FF00810AA0\n"
    "(2.000000) can0 1CECFF80#20150003FFEBFE00\n"
    "(2.010000) can0 1CECFF8C#20150003FFEBFE00\n"
    "(2.050000) can0 1CEBFF80#014D312A47207370\n"
    "(2.060000) can0 1CEBFF8C#014D312A47207370\n"
    "(2.110000) can0 1CEBFF8C#027265616465722A\n"
    "(2.120000) can0 1CEBFF80#027265616465722A\n"
    "(2.150000) can0 1CEBFF80#03532D34322A312A\n"
    "(2.160000) can0 1CEBFF8C#03532D34332A322A\n"
    "(3.000000) can0 18FEDA80#01322E312E302AFF\n";

static char *json_of(const struct whole *w)
{
    const struct dbr_report report = {
        .info = w->info, .history = w->history, .diagnosis = w->diagnosis, .bitrate = 250000};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(dbr_report_json(out, &report, NULL), 0);
    fclose(out);
    return kept(text);
}

static void expect_told(const struct whole *w, uint8_t address, const char *label,
                        const char *serial)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(w->history, 0, address);
    char found[DBR_LABEL_MAX];

    cr_assert_not_null(ecu);
    dbr_ecu_label(found, sizeof found, ecu);
    cr_expect_str_eq(found, label);
    const char *told =
        dbr_identity_text(ecu->identity, DBR_TOLD_COMPONENT, DBR_COMPONENT_SERIAL);
    cr_expect_str_eq(told ? told : "none", serial);
}

Test(whole_identities, batches_make_no_difference)
{
    static const size_t batches[] = {1, 2, 3, 5, 4096};
    char path[] = "/tmp/who-is-who-XXXXXX", *first = NULL;
    FILE *file = fdopen(mkstemp(path), "w");

    cr_assert_not_null(file);
    fputs(recording, file);
    fclose(file);
    for (size_t i = 0; i < sizeof batches / sizeof batches[0]; i++) {
        struct whole *w = whole_read_in((const char *[]){path}, 1, batches[i]);
        cr_assert_not_null(w->diagnosis, "%s", w->error.text);
        expect_told(w, 128, "rate control \"G spreader\" (128)", "S-42");
        expect_told(w, 140, "section control \"G spreader\" (140)", "S-43");
        char *json = json_of(w);
        if (first)
            cr_expect_str_eq(json, first, "batches of %zu", batches[i]);
        free(first);
        first = json;
        whole_free(w);
    }
    free(first);
    remove(path);
}
