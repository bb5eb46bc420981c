/* page_codes.c - trouble codes in words, and who asked to clear them, in the page (page.h). */
#include <inttypes.h>

#include "drawbar/can_id.h"
#include "drawbar/troubles.h"
#include "reporting/html_text.h"
#include "reporting/page.h"

static void write_code(struct page_table *t, const struct dbr_trouble *code)
{
    const struct dbr_history *h = t->p->r->history;
    char words[DBR_TROUBLE_WORDS_MAX];
    bool known = dbr_trouble_words(words, sizeof words, h, code);

    page_row_open(t, NULL);
    page_cell_text(t, "SPN %" PRIu32 "%s FMI %u", code->code.spn,
                   code->code.older_layout ? " (not certain)" : "", code->code.fmi);
    page_cell_open(t);
    page_ecu(t->p, code->interface, code->address);
    page_cell_text(t, "%s%s%s", known ? words : "", known ? ": " : "",
                   dbr_fmi_words(code->code.fmi));
    page_cell_text(t, "%s", dbr_trouble_state_words(code));
    if (code->code.count == DBR_OCCURRENCES_UNKNOWN)
        page_cell_text(t, "unknown");
    else
        page_cell_text(t, "%u", code->code.count);
    page_cell_time(t, code->first_ns, h->timed);
    page_cell_time(t, code->last_ns, h->timed);
    page_row_close(t);
}

static void write_orders(const struct page *p)
{
    static const char *const kinds[] = {"previously active codes", "active codes", "one code"};
    const struct dbr_troubles *t = &p->r->history->troubles;

    fputs(t->clear_count > 0 ? "<ul>\n" : "", p->out);
    for (size_t i = 0; i < t->clear_count; i++) {
        const struct dbr_trouble_clear *c = &t->clears[i];
        fputs("<li>", p->out);
        page_ecu(p, c->interface, c->requester);
        fputs(" asked ", p->out);
        if (c->address == DBR_ADDRESS_GLOBAL)
            fputs("all", p->out);
        else
            page_ecu(p, c->interface, c->address);
        fputs(" at ", p->out);
        page_time(p, c->at_ns);
        fprintf(p->out, " to clear %s: ", kinds[c->kind]);
        html_text(p->out, dbr_clear_answer_name(c->answer));
        fputs("</li>\n", p->out);
    }
    fputs(t->clear_count > 0 ? "</ul>\n" : "", p->out);
}

void page_codes(const struct page *p)
{
    static const char *const heads[] = {"Code", "from", "says", "state", "count", "first", "last",
                                        NULL};
    const struct dbr_troubles *t = &p->r->history->troubles;

    if (t->count == 0)
        fputs(t->sender_count > 0 ? "<p>The ECUs that report codes report none.</p>\n"
                                  : "<p>No ECU reports trouble codes in this recording.</p>\n",
              p->out);
    if (t->count > 0) {
        struct page_table table = page_table_open(p, "Trouble codes", heads);
        for (size_t i = 0; i < t->count; i++)
            write_code(&table, &t->items[i]);
        page_table_close(&table);
    }
    write_orders(p);
}
