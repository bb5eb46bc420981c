/* text_codes.c - see text_codes.h. */
#include "reporting/text_codes.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "drawbar/can_id.h"

#define CELL_MAX 96u
#define WHO_MAX (DBR_LABEL_MAX + DBR_INTERFACE_NAME_MAX)
#define LIST_MAX 2048u

static const char *label_of(char *out, const struct dbr_report *r, uint8_t interface,
                            uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(r->history, interface, address);

    snprintf(out, WHO_MAX, "address %u", address);
    if (ecu)
        dbr_ecu_label(out, DBR_LABEL_MAX, ecu);
    if (r->history->bus_count > 1) {
        size_t used = strlen(out);
        snprintf(out + used, WHO_MAX - used, " on %s", r->info->interfaces[interface]);
    }
    return out;
}

static const char *seconds(char *out, const struct dbr_history *h, int64_t ns)
{
    snprintf(out, CELL_MAX, "unknown");
    if (h->timed)
        snprintf(out, CELL_MAX, "%.1f", (double)ns / 1e9);
    return out;
}

static const char *occurrences(char *out, uint8_t count)
{
    snprintf(out, CELL_MAX, "unknown");
    if (count != DBR_OCCURRENCES_UNKNOWN)
        snprintf(out, CELL_MAX, "%u", count);
    return out;
}

/* Figures in columns; whom and what they are about below, as long as it may be. */
static void write_code(const struct layout *l, const struct dbr_report *r,
                       const struct dbr_trouble *t)
{
    const struct dbr_history *h = r->history;
    char spn[CELL_MAX], count[CELL_MAX], first[CELL_MAX], last[CELL_MAX];
    char who[WHO_MAX], words[DBR_TROUBLE_WORDS_MAX], line[WHO_MAX + sizeof words + CELL_MAX];

    snprintf(spn, sizeof spn, "%u%s", t->code.spn, t->code.older_layout ? "?" : "");
    layout_line(l, "  %7s %3u %9s %7" PRIu64 " %8s %8s  %s", spn, t->code.fmi,
                occurrences(count, t->code.count), t->reports, seconds(first, h, t->first_ns),
                seconds(last, h, t->last_ns), dbr_trouble_state_words(t));
    bool known = dbr_trouble_words(words, sizeof words, h, t);
    snprintf(line, sizeof line, "%s: %s%s%s", label_of(who, r, t->interface, t->address),
             known ? words : "", known ? ", " : "", dbr_fmi_words(t->code.fmi));
    layout_paragraph(l, INK_PLAIN, "          ", line);
}

/* Who only ever said that there is no fault. */
static void write_sound(const struct layout *l, const struct dbr_report *r)
{
    char list[LIST_MAX] = "", label[WHO_MAX];
    size_t used = 0;

    for (size_t i = 0; i < r->history->troubles.sender_count; i++) {
        const struct dbr_trouble_sender *s = &r->history->troubles.senders[i];
        if (!s->told_none || s->told_codes)
            continue;
        int more = snprintf(list + used, sizeof list - used, "%s%s", used > 0 ? ", " : "",
                            label_of(label, r, s->interface, s->address));
        if (more < 0 || (size_t)more >= sizeof list - used)
            break;
        used += (size_t)more;
    }
    if (used > 0)
        layout_paragraph(l, INK_PLAIN, "  no fault, as they say themselves: ", list);
}

static void write_orders(const struct layout *l, const struct dbr_report *r)
{
    static const char *const kinds[] = {"previously active codes", "active codes", "one code"};
    const struct dbr_troubles *t = &r->history->troubles;
    char line[2 * WHO_MAX + 2 * CELL_MAX], who[WHO_MAX], whom[WHO_MAX], at[CELL_MAX];

    for (size_t i = 0; i < t->clear_count; i++) {
        const struct dbr_trouble_clear *c = &t->clears[i];
        snprintf(line, sizeof line, "%s asked %s at %s s to clear %s: %s",
                 label_of(who, r, c->interface, c->requester),
                 c->address == DBR_ADDRESS_GLOBAL ? "all"
                                                  : label_of(whom, r, c->interface, c->address),
                 seconds(at, r->history, c->at_ns), kinds[c->kind],
                 dbr_clear_answer_name(c->answer));
        layout_paragraph(l, INK_PLAIN, "  ", line);
    }
}

void text_codes(const struct layout *l, const struct dbr_report *r)
{
    const struct dbr_troubles *t = &r->history->troubles;
    if (t->count == 0 && t->sender_count == 0 && t->clear_count == 0)
        return;
    layout_heading(l, "Trouble codes");
    if (t->count > 0)
        layout_line(l, "  %7s %3s %9s %7s %8s %8s", "SPN", "FMI", "count", "lists", "first s",
                    "last s");
    for (size_t i = 0; i < t->count; i++)
        write_code(l, r, &t->items[i]);
    write_sound(l, r);
    write_orders(l, r);
}
