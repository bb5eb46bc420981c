/* page_svg_lanes.c - chains and ECUs as lanes of the picture (page_svg.h). */
#include "reporting/page_svg.h"

#define ECUS_DRAWN 40u
#define LABEL_MAX DBR_LABEL_MAX

static const struct {
    const char *class, *word;
} answers[] = {[DBR_ANSWER_UNKNOWN] = {"unknown", "? unknown"},
               [DBR_ANSWER_FAILED] = {"failed", "\xC3\x97 not held"},
               [DBR_ANSWER_HELD] = {"held", "held"}};

static void write_link(struct picture *s, enum dbr_link link, const struct dbr_link_story *story)
{
    char reason[LABEL_MAX];

    picture_label(s, LANE_HEIGHT, dbr_link_words(link));
    for (size_t i = 0; i < story->count; i++) {
        const struct dbr_link_interval *at = &story->items[i];
        const char *word = answers[at->answer].word;
        const char *const words[] = {reason, word, NULL};
        bool held = at->answer == DBR_ANSWER_HELD;
        snprintf(reason, sizeof reason, "%s: %s", word, dbr_link_reason_words(at->reason));
        picture_piece(s, at->start_ns, at->end_ns, answers[at->answer].class,
                      held ? words + 1 : words);
    }
    s->y += LANE_HEIGHT;
}

static void write_chain(struct picture *s, const struct dbr_implement *implement)
{
    char label[LABEL_MAX], heading[LABEL_MAX + 16];
    const struct dbr_ecu *ecu =
        dbr_history_ecu(s->p->r->history, implement->interface, implement->address);

    snprintf(label, sizeof label, "address %u", implement->address);
    if (ecu)
        dbr_ecu_label(label, sizeof label, ecu);
    snprintf(heading, sizeof heading, "Chain of %s", label);
    picture_heading(s, heading);
    for (int k = 0; k < DBR_LINKS; k++)
        write_link(s, (enum dbr_link)k, &implement->links[k]);
}

/* Claim: an upright tick. Starts again: a standing arrow. Contested: a rhombus. */
static const char claim[] = "v18", restart[] = "l6 10h-12zm0 10v8", contest[] = "l8 9l-8 9l-8 -9z";

static void write_mark(const struct picture *s, int64_t at_ns, const char *class,
                       const char *form)
{
    fprintf(s->out, "<path class=\"%s\" d=\"M%.1f %.1f%s\"/>\n", class, picture_x(s, at_ns),
            s->y + 3, form);
}

static void write_marks(const struct picture *s, size_t index)
{
    const struct dbr_history *h = s->p->r->history;
    const struct dbr_ecu *ecu = &h->ecus[index];

    for (size_t i = 0; i < ecu->claims && i < DBR_CLAIM_TIMES_MAX; i++)
        write_mark(s, ecu->claim_ns[i], "claim", claim);
    for (size_t i = 0; i < h->restart_count; i++)
        if (h->restarts[i].ecu == index)
            write_mark(s, h->restarts[i].at_ns, "restart", restart);
    for (size_t i = 0; i < h->conflict_count; i++)
        if (h->conflicts[i].interface == ecu->interface && h->conflicts[i].address == ecu->address)
            write_mark(s, h->conflicts[i].at_ns, "contest", contest);
}

static void write_ecu(struct picture *s, size_t index)
{
    const struct dbr_history *h = s->p->r->history;
    const struct dbr_ecu *ecu = &h->ecus[index];
    int64_t from = ecu->first_ns;
    static const char *const silent[] = {"silent", NULL};
    char label[LABEL_MAX];

    dbr_ecu_label(label, sizeof label, ecu);
    picture_label(s, LANE_HEIGHT, label);
    for (size_t i = 0; i < ecu->silences.count; i++) {
        const struct dbr_spell *silence = &ecu->silences.items[i];
        picture_piece(s, from, silence->start_ns, "present", NULL);
        picture_piece(s, silence->start_ns, silence->end_ns, "silent", silent);
        from = silence->open ? h->end_ns : silence->end_ns;
    }
    if (ecu->silences.count == 0 || !ecu->silences.items[ecu->silences.count - 1].open)
        picture_piece(s, from, ecu->last_ns, "present", NULL);
    write_marks(s, index);
    s->y += LANE_HEIGHT;
}

static void write_ecus(struct picture *s)
{
    size_t count = s->p->r->history->ecu_count;
    char more[LABEL_MAX];

    if (count == 0)
        return;
    picture_heading(s, "ECUs");
    for (size_t i = 0; i < count && i < ECUS_DRAWN; i++)
        write_ecu(s, i);
    if (count <= ECUS_DRAWN)
        return;
    snprintf(more, sizeof more, "and %zu more in the table", count - ECUS_DRAWN);
    picture_label(s, LANE_HEIGHT, more);
    s->y += LANE_HEIGHT;
}

void picture_lanes(struct picture *s)
{
    for (size_t i = 0; i < s->p->r->history->implement_count; i++)
        write_chain(s, &s->p->r->history->implements[i]);
    write_ecus(s);
}
