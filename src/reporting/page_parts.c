/* page_parts.c - templates and what every page shares (page.h). */
#include <stdlib.h>
#include <string.h>

#include "reporting/page.h"
#include "reporting/roots.h"

const struct page_asset *page_asset(const char *name)
{
    size_t i = 0;

    while (strcmp(page_assets[i].name, name) != 0)
        i++;
    return &page_assets[i];
}

static bool is_slot(const char *slot, size_t length, const char *name)
{
    return strlen(name) == length && strncmp(slot, name, length) == 0;
}

static void write_asset(FILE *out, const char *name)
{
    const struct page_asset *asset = page_asset(name);

    fwrite(asset->text, 1, asset->length, out);
}

void page_key(const struct page *p)
{
    if (p->r->history->timed && p->span_ns > 0)
        write_asset(p->out, "key.html");
}

/* What each page comes with. Of several pages of an index, the script itself may bring the rows of
 * the others (index.js). */
static const struct dress {
    const char *page, *style, *script, *more_scripts;
} dresses[] = {
    {"page.html", "page.css", "page.js", ""},
    {"compare.html", "page.css", "page.js", ""},
    {"index.html", "index.css", "index.js", " 'strict-dynamic'"},
};

/* Nothing may be loaded from anywhere; style and script are known by their hashes. */
static void write_policy(FILE *out, const struct dress *dress)
{
    fprintf(out, "default-src 'none'; style-src '%s'; script-src '%s'%s; img-src data:; "
            "base-uri 'none'; form-action 'none'", page_asset(dress->style)->hash,
            page_asset(dress->script)->hash, dress->more_scripts);
}

/* The slots that every page has. False: not one of them. */
static bool write_common(FILE *out, const struct dress *dress, const char *slot, size_t length)
{
    if (is_slot(slot, length, "policy"))
        write_policy(out, dress);
    else if (is_slot(slot, length, "style"))
        write_asset(out, dress->style);
    else if (is_slot(slot, length, "script"))
        write_asset(out, dress->script);
    else if (is_slot(slot, length, "version"))
        fputs(DRAWBAR_VERSION, out);
    else
        return false;
    return true;
}

static const struct dress *dress_of(const char *page)
{
    size_t i = 0;

    while (strcmp(dresses[i].page, page) != 0)
        i++;
    return &dresses[i];
}

int page_template(FILE *out, const char *name, page_fill *fill, void *context,
                  struct dbr_error *error)
{
    const struct dress *dress = dress_of(name);
    const char *at = page_asset(name)->text, *open;

    while ((open = strstr(at, "{{"))) {
        const char *slot = open + 2, *close = strstr(slot, "}}");
        size_t length = (size_t)(close - slot);
        fwrite(at, 1, (size_t)(open - at), out);
        if (!write_common(out, dress, slot, length) && fill(context, slot, length) < 0)
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        at = close + 2;
    }
    fputs(at, out);
    return 0;
}

/* Whether both say the same of the same: else their lines cannot stand side by side. */
static bool same_findings(const struct dbr_diagnosis *a, const struct dbr_diagnosis *b)
{
    bool same = a->finding_count == b->finding_count;

    for (size_t i = 0; same && i < a->finding_count; i++)
        same = strcmp(a->findings[i].code, b->findings[i].code) == 0 &&
               a->findings[i].evidence.count == b->findings[i].evidence.count;
    return same;
}

int page_prepare(struct page *p, FILE *out, const struct dbr_report *r, struct dbr_error *error)
{
    enum dbr_units mine = r->units;
    enum dbr_units other = mine == DBR_UNITS_US ? DBR_UNITS_METRIC : DBR_UNITS_US;
    struct dbr_diagnosis_options options = {.units = other, .rig = r->rig};

    *p = (struct page){.out = out, .r = r, .prefix = "", .motion_ns = -1};
    p->span_ns = r->history->end_ns;
    p->again = dbr_diagnosis_new(r->history, r->info, &options, error);
    p->root_of = p->again ? roots_find(r->diagnosis) : NULL;
    p->out_of_memory = &p->ran_out;
    if (!p->root_of || !page_closeups_drawn(r, &p->drawn))
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    p->texts[mine] = r->diagnosis;
    p->texts[other] = same_findings(r->diagnosis, p->again) ? p->again : r->diagnosis;
    return 0;
}

int page_whole(const struct page *p, struct dbr_error *error)
{
    return p->ran_out ? dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory") : 0;
}

void page_release(struct page *p)
{
    dbr_diagnosis_free(p->again);
    free(p->root_of);
}
