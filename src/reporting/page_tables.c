/* page_tables.c - chains, ECUs and speed sources as tables in the page (page.h). */
#include <inttypes.h>
#include <math.h>

#include "drawbar/name.h"
#include "reporting/html_text.h"
#include "reporting/identity_words.h"
#include "reporting/page.h"

#define ECUS_SHOWN 40u /* more than a machine has: further ones fold */
#define WORDS_MAX 96u

/* "ECUs", or where there are several buses "ECUs on can1". */
static void caption_of_bus(char *out, size_t size, const struct page *p, const char *text,
                           size_t bus)
{
    if (p->r->history->bus_count > 1)
        snprintf(out, size, "%s on %s", text, p->r->info->interfaces[bus]);
    else
        snprintf(out, size, "%s", text);
}

static double link_s(const struct dbr_link_story *story, enum dbr_answer answer)
{
    return (double)dbr_link_time_ns(story, answer) / 1e9;
}

/* Why a link failed for the longest time; "" where it never did. */
static const char *main_reason(const struct dbr_link_story *story)
{
    const struct dbr_link_interval *longest = NULL;

    for (size_t i = 0; i < story->count; i++) {
        const struct dbr_link_interval *at = &story->items[i];
        if (at->answer == DBR_ANSWER_FAILED &&
            (!longest || at->end_ns - at->start_ns > longest->end_ns - longest->start_ns))
            longest = at;
    }
    return longest ? dbr_link_reason_words(longest->reason) : "";
}

static void write_chain(const struct page *p, const struct dbr_implement *implement)
{
    static const char *const heads[] = {"Link", "held", "not held", "unknown",
                                        "mostly not held because", NULL};
    char label[DBR_LABEL_MAX], caption[DBR_LABEL_MAX + 16];
    const struct dbr_ecu *ecu =
        dbr_history_ecu(p->r->history, implement->interface, implement->address);

    snprintf(label, sizeof label, "address %u", implement->address);
    if (ecu)
        dbr_ecu_label(label, sizeof label, ecu);
    snprintf(caption, sizeof caption, "Chain of %s", label);
    struct page_table t = page_table_open(p, caption, heads);
    for (int k = 0; k < DBR_LINKS; k++) {
        const struct dbr_link_story *story = &implement->links[k];
        page_row_open(&t, NULL);
        page_cell_text(&t, "%s", dbr_link_words((enum dbr_link)k));
        page_cell_text(&t, "%.1f s", link_s(story, DBR_ANSWER_HELD));
        page_cell_text(&t, "%.1f s", link_s(story, DBR_ANSWER_FAILED));
        page_cell_text(&t, "%.1f s", link_s(story, DBR_ANSWER_UNKNOWN));
        page_cell_text(&t, "%s", main_reason(story));
        page_row_close(&t);
    }
    page_table_close(&t);
}

static void cell_rate(struct page_table *t, double kg_m2)
{
    page_cell_open(t);
    page_mass_rate(t->p, kg_m2);
}

static void cell_turns(struct page_table *t, double per_second)
{
    if (isnan(per_second))
        page_cell_text(t, "unknown");
    else
        page_cell_text(t, "%.1f a minute", per_second * 60);
}

/* What each meter did while it worked, beside what set-point, speed, width and meter ask for. */
static void write_meters(const struct page *p, const struct dbr_implement *implement)
{
    static const char *const heads[] = {"Element", "set-point", "actual", "by its turns",
                                        "turned", "expected turns", NULL};

    if (implement->meter_count == 0)
        return;
    struct page_table t = page_table_open(p, "Meters, on average while asked for a rate", heads);
    for (size_t i = 0; i < implement->meter_count; i++) {
        const struct dbr_meter *m = &implement->meters[i];
        page_row_open(&t, NULL);
        const struct dbr_device_object *element = dbr_history_element(
            p->r->history, implement->interface, implement->address, m->element);
        page_cell_text(&t, "%u%s%s", m->element, element ? " " : "", element ? element->text : "");
        cell_rate(&t, m->setpoint_kg_m2);
        cell_rate(&t, m->actual_kg_m2);
        cell_rate(&t, dbr_rig_metered_rate(p->r->rig, i, m));
        cell_turns(&t, m->turns_per_s);
        cell_turns(&t, dbr_rig_expected_turns(p->r->rig, i, m));
        page_row_close(&t);
    }
    page_table_close(&t);
}

void page_chains(const struct page *p)
{
    if (p->r->history->implement_count == 0)
        fputs("<p>No implement shows in this recording, so there is no chain to walk.</p>\n",
              p->out);
    for (size_t i = 0; i < p->r->history->implement_count; i++) {
        write_chain(p, &p->r->history->implements[i]);
        write_meters(p, &p->r->history->implements[i]);
    }
}

/* The fields of a NAME in words, those that tell something (ISO 11783-5 4.3). */
static void cell_name(struct page_table *t, const struct dbr_ecu *ecu)
{
    FILE *out = t->p->out;

    page_cell_open(t);
    if (ecu->name_count == 0) {
        fputs("no claim seen", out);
        return;
    }
    uint64_t name = ecu->names[ecu->name_count - 1];
    struct dbr_name_fields f = dbr_name_split(name);
    const char *function = dbr_name_function_words(&f), *class = dbr_name_class_words(&f);
    fprintf(out, "<span class=\"name\">%016" PRIX64 "</span> ", name);
    if (function)
        html_text(out, function);
    else
        fprintf(out, "function %u", f.function);
    if (f.industry_group == DBR_INDUSTRY_GROUP_AGRICULTURE && class)
        html_format(out, ", %s", class);
    fprintf(out, ", industry group %u, manufacturer %u, function instance %u, identity %" PRIu32,
            f.industry_group, f.manufacturer_code, f.function_instance, f.identity);
    if (ecu->name_count > 1)
        fprintf(out, "; the last of %zu NAMEs at this address", ecu->name_count);
}

static void cell_silences(struct page_table *t, const struct dbr_ecu *ecu)
{
    uint64_t count = ecu->silences.count + ecu->silences.folded;

    page_cell_open(t);
    if (count == 0) {
        fputs("none", t->p->out);
        return;
    }
    fprintf(t->p->out, "%" PRIu64 ", first ", count);
    page_time(t->p, ecu->silences.items[0].start_ns);
}

/* Its label, and below it what it told about itself. */
static void cell_ecu(struct page_table *t, const struct dbr_ecu *ecu)
{
    struct identity_words words;

    page_cell_open(t);
    fputs("<div>", t->p->out); /* one thing beside its heading, where the cell is a grid */
    page_ecu(t->p, ecu->interface, ecu->address);
    identity_words(&words, t->p->r->history, ecu);
    const char *const lines[] = {words.told, words.abilities, words.leader};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        if (lines[i][0]) {
            fputs("<br><small>", t->p->out);
            html_text(t->p->out, lines[i]);
            fputs("</small>", t->p->out);
        }
    fputs("</div>", t->p->out);
}

static void write_ecu(struct page_table *t, const struct dbr_ecu *ecu)
{
    bool timed = t->p->r->history->timed;

    page_row_open(t, NULL);
    cell_ecu(t, ecu);
    cell_name(t, ecu);
    page_cell_text(t, "%" PRIu64, ecu->frames);
    page_cell_time(t, ecu->first_ns, timed);
    page_cell_time(t, ecu->last_ns, timed);
    page_cell_text(t, "%" PRIu64, ecu->claims);
    page_cell_text(t, "%" PRIu64, ecu->restarts);
    cell_silences(t, ecu);
    page_row_close(t);
}

/* The ECUs of a bus from number `from` on, `most` of them. Returns how many there were. */
static size_t ecu_table(const struct page *p, size_t bus, size_t from, size_t most)
{
    static const char *const heads[] = {"ECU", "NAME", "messages", "first", "last", "claims",
                                        "restarts", "silences", NULL};
    const struct dbr_history *h = p->r->history;
    char caption[WORDS_MAX + 64];
    size_t number = 0;

    caption_of_bus(caption, sizeof caption, p, from > 0 ? "Further ECUs" : "ECUs", bus);
    struct page_table t = page_table_open(p, caption, heads);
    for (size_t i = 0; i < h->ecu_count; i++) {
        if (h->ecus[i].interface != bus)
            continue;
        if (number >= from && number - from < most)
            write_ecu(&t, &h->ecus[i]);
        number++;
    }
    page_table_close(&t);
    return number;
}

void page_ecus(const struct page *p)
{
    for (size_t bus = 0; bus < p->r->history->bus_count; bus++) {
        size_t count = ecu_table(p, bus, 0, ECUS_SHOWN);
        if (count <= ECUS_SHOWN)
            continue;
        fprintf(p->out, "<details class=\"more\"><summary>%zu further ECUs</summary>\n",
                count - ECUS_SHOWN);
        ecu_table(p, bus, ECUS_SHOWN, count);
        fputs("</details>\n", p->out);
    }
}

static void cell_state(struct page_table *t, enum dbr_speed_state state)
{
    page_cell_open(t);
    fprintf(t->p->out, "<strong>%s</strong>", dbr_speed_state_words(state));
}

static void write_source(struct page_table *t, const struct dbr_speed_source *s)
{
    const struct dbr_history *h = t->p->r->history;
    bool seen = h->timed && s->frames > 0;

    page_row_open(t, s->state == DBR_SPEED_STATE_VALID ? NULL : "poor");
    page_cell_text(t, "%s", dbr_speed_kind_name(s->kind));
    page_cell_open(t);
    page_ecu(t->p, s->interface, s->address);
    page_cell_text(t, "%" PRIu32, s->pgn);
    cell_state(t, s->state);
    page_cell_text(t, "%" PRIu64, s->frames);
    page_cell_time(t, s->first_ns, seen);
    page_cell_time(t, s->last_ns, seen);
    page_cell_open(t);
    page_speed(t->p, s->max_mps);
    if (isnan(s->ratio_to_reference) || s->reference < 0)
        page_cell_text(t, "unknown");
    else
        page_cell_text(t, "%+.1f %% against %s, over %.0f s", (s->ratio_to_reference - 1) * 100,
                       dbr_speed_kind_name(h->sources[s->reference].kind), s->compared_s);
    page_row_close(t);
}

void page_sources(const struct page *p)
{
    static const char *const heads[] = {"Source", "from", "group", "state", "messages", "first",
                                        "last", "highest", "scale", NULL};
    char caption[WORDS_MAX + 64];

    if (p->r->history->source_count == 0)
        fputs("<p>No source of speed shows in this recording.</p>\n", p->out);
    for (size_t bus = 0; bus < p->r->history->bus_count; bus++) {
        size_t count = 0;
        for (size_t i = 0; i < p->r->history->source_count; i++)
            count += p->r->history->sources[i].interface == bus;
        if (count == 0)
            continue;
        caption_of_bus(caption, sizeof caption, p, "Speed sources", bus);
        struct page_table t = page_table_open(p, caption, heads);
        for (size_t i = 0; i < p->r->history->source_count; i++)
            if (p->r->history->sources[i].interface == bus)
                write_source(&t, &p->r->history->sources[i]);
        page_table_close(&t);
    }
}
