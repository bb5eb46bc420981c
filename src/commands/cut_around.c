/* cut_around.c - see cut_around.h. */
#include "commands/cut_around.h"

#include <stdio.h>
#include <string.h>

#include "diagnosis/rules.h"

#define ALL "all"
#define CODES_MAX 512u

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

static int add_window(struct around *around, int64_t at_ns, struct dbr_error *error)
{
    if (around->window_count == DBR_WINDOWS_MAX)
        return dbr_error_set(error, DBR_ERROR_LIMIT, "--around %s: more than %u moments; choose a "
                             "code, or a time with --from and --to", around->what, DBR_WINDOWS_MAX);
    around->windows[around->window_count++] =
        (struct dbr_window){at_ns - around->margin_ns, at_ns + around->margin_ns};
    return 0;
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
        if (!is_meant(around, f) || !f->timed)
            continue;
        if (add_window(around, f->start_ns, error) < 0 ||
            (!f->open && f->end_ns != f->start_ns && add_window(around, f->end_ns, error) < 0))
            return -1;
    }
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
