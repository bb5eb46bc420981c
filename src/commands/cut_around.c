/* cut_around.c - see cut_around.h. */
#include "commands/cut_around.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnosis/rules.h"

#define ALL "all"
#define CODES_MAX 512u

/* How much of a finding that lasts is taken along: the rule that asks for most, speed-disagrees,
 * compares through 20 s of motion (contract), and a machine that turns at a headland or waits for
 * its bin stands now and then. Common practice, no source. */
#define PROVEN_NS INT64_C(60000000000)

/* Windows nearer to each other than that are one: a minute of traffic costs less than a gap that
 * somebody has to explain. Common practice, no source. */
#define JOINED_NS INT64_C(60000000000)

bool around_is_known(const char *what)
{
    for (size_t i = 0; i < rule_count; i++)
        if (strcmp(rules[i].code, what) == 0)
            return true;
    return strcmp(what, ALL) == 0;
}

static bool is_meant(const struct around *around, const struct dbr_finding *f)
{
    if (strcmp(around->what, ALL) == 0)
        return f->severity > DBR_NOTE;
    return strcmp(around->what, f->code) == 0;
}

static int64_t shown_until(const struct dbr_finding *f)
{
    bool empty = strcmp(f->code, "recording-gap") == 0; /* and shows only with what follows */
    bool lasts = f->open || (f->end_ns > f->start_ns + PROVEN_NS && !empty);

    return lasts ? f->start_ns + PROVEN_NS : f->end_ns;
}

static int add_window(struct around *around, const struct dbr_finding *f, struct dbr_error *error)
{
    if (around->window_count == DBR_WINDOWS_MAX)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "--around %s: more than %u moments; choose a "
                             "code, or a time with --from and --to", around->what, DBR_WINDOWS_MAX);
    around->windows[around->window_count++] = (struct dbr_window){
        f->start_ns - around->margin_ns, shown_until(f) + around->margin_ns};
    return 0;
}

static int by_start(const void *a, const void *b)
{
    const struct dbr_window *x = a, *y = b;
    return (x->from_ns > y->from_ns) - (x->from_ns < y->from_ns);
}

static void join_near_ones(struct around *around)
{
    size_t count = 0;

    qsort(around->windows, around->window_count, sizeof around->windows[0], by_start);
    for (size_t i = 0; i < around->window_count; i++) {
        struct dbr_window *last = count ? &around->windows[count - 1] : NULL;
        const struct dbr_window *w = &around->windows[i];
        if (!last || w->from_ns > last->to_ns + JOINED_NS)
            around->windows[count++] = *w;
        else if (w->to_ns > last->to_ns)
            last->to_ns = w->to_ns;
    }
    around->window_count = count;
}

static int none_found(const struct around *around, const struct dbr_diagnosis *d,
                      struct dbr_error *error)
{
    char codes[CODES_MAX] = "";
    size_t used = 0;

    for (size_t i = 0; i < d->finding_count && used < sizeof codes; i++)
        if (!strstr(codes, d->findings[i].code))
            used += (size_t)snprintf(codes + used, sizeof codes - used, "%s%s", used ? ", " : "",
                                     d->findings[i].code);
    return dbr_error_set(error, DBR_ERROR_USAGE, "--around %s: the recording has no %s%s%s",
                         around->what,
                         strcmp(around->what, ALL) == 0 ? "fault and no warning" : "such finding",
                         used ? "; it has " : "", codes);
}

static int gather(struct around *around, const struct dbr_diagnosis *d, struct dbr_error *error)
{
    for (size_t i = 0; i < d->finding_count; i++) {
        const struct dbr_finding *f = &d->findings[i];
        if (is_meant(around, f) && f->timed && add_window(around, f, error) < 0)
            return -1;
    }
    join_near_ones(around);
    return around->window_count > 0 ? 0 : none_found(around, d, error);
}

int around_find(struct around *around, struct request *request, struct dbr_error *error)
{
    const struct option_values *values = request->values;
    struct analysis a = {0};
    int status = analysis_run(&a, request, values->operands, values->operand_count, error);

    around->window_count = 0;
    if (status == 0 && !a.made->history->timed)
        status = dbr_error_set(error, DBR_ERROR_USAGE,
                               "--around %s: the recording has no time stamps", around->what);
    if (status == 0)
        status = gather(around, a.made->diagnosis, error);
    analysis_release(&a);
    return status;
}
