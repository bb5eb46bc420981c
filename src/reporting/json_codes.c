/* json_codes.c - trouble codes, who sends them, requests to clear them and to be silent. */
#include <math.h>
#include <stdio.h>

#include "drawbar/can_id.h"
#include "reporting/json.h"

/* By name; a lamp that is off or not told flashes in no way. */
static void add_lamps(cJSON *object, const struct dbr_lamps *lamps)
{
    cJSON *states = json_add_object(object, "lamps");
    for (unsigned i = DBR_LAMPS; i-- > 0;)
        json_add_text(states, dbr_lamp_name((enum dbr_lamp)i),
                      dbr_lamp_state_name(lamps->state[i]));
    cJSON *flashes = json_add_object(object, "lamps_flash");
    for (unsigned i = DBR_LAMPS; i-- > 0;)
        json_add_text(flashes, dbr_lamp_name((enum dbr_lamp)i),
                      lamps->state[i] == DBR_LAMP_ON ? dbr_lamp_flash_name(lamps->flash[i])
                                                     : NULL);
}

static void add_occurrences(cJSON *object, const char *key, uint8_t count)
{
    json_add_number(object, key, count == DBR_OCCURRENCES_UNKNOWN ? (double)NAN : count, 0);
}

/* An SPN that is not certain is no number; the bytes as sent are there. */
static void add_code(cJSON *object, const struct dbr_trouble_code *code)
{
    char raw[12];

    snprintf(raw, sizeof raw, "%02X%02X%02X%02X", code->raw[0], code->raw[1], code->raw[2],
             code->raw[3]);
    json_add_number(object, "spn", code->older_layout ? (double)NAN : code->spn, 0);
    json_add_count(object, "fmi", code->fmi);
    json_add_text(object, "conversion", code->older_layout ? "older" : "current");
    json_add_text(object, "raw", raw);
}

void json_add_finding_code(cJSON *object, const struct dbr_finding *f)
{
    if (f->trouble)
        add_code(object, &f->trouble->code);
}

static void add_trouble(cJSON *list, const struct dbr_report *r, const struct dbr_trouble *t)
{
    cJSON *item = json_add_item(list);
    bool timed = r->history->timed;
    char words[DBR_TROUBLE_WORDS_MAX];

    json_add_text(item, "interface", r->info->interfaces[t->interface]);
    json_add_count(item, "address", t->address);
    add_code(item, &t->code);
    json_add_text(item, "spn_words",
                  dbr_trouble_words(words, sizeof words, r->history, t) ? words : NULL);
    json_add_text(item, "fmi_words", dbr_fmi_words(t->code.fmi));
    json_add_bool(item, "active", !t->previously);
    json_add_bool(item, "previously_active", t->previously);
    add_occurrences(item, "count", t->code.count);
    add_occurrences(item, "count_at_first", t->first_count);
    add_lamps(item, &t->lamps);
    json_add_bool(item, "lamps_shared", !t->alone);
    json_add_time(item, "first", t->first_ns, timed);
    json_add_time(item, "last", t->last_ns, timed);
    json_add_time(item, "appeared", t->first_ns, timed && !t->from_start && !t->previously);
    json_add_time(item, "gone", t->gone_ns, timed && t->end == DBR_TROUBLE_GONE);
    json_add_count(item, "returns", t->returns);
    json_add_time(item, "returned", t->returned_ns, timed && t->returns > 0);
    json_add_text(item, "end", dbr_trouble_end_name(t->end));
    json_add_count(item, "reports", t->reports);
}

static void add_sender(cJSON *list, const struct dbr_report *r,
                       const struct dbr_trouble_sender *s)
{
    cJSON *item = json_add_item(list);

    json_add_text(item, "interface", r->info->interfaces[s->interface]);
    json_add_count(item, "address", s->address);
    json_add_count(item, "lists", s->lists);
    json_add_count(item, "malformed", s->malformed);
    json_add_bool(item, "told_no_fault", s->told_none);
    json_add_bool(item, "told_codes", s->told_codes);
    add_lamps(item, &s->lamps);
    json_add_time(item, "first", s->first_ns, r->history->timed);
    json_add_time(item, "last", s->last_ns, r->history->timed && s->lists > 0);
}

static void add_asked(cJSON *item, const struct dbr_report *r, uint8_t interface,
                      uint8_t requester, uint8_t address)
{
    json_add_text(item, "interface", r->info->interfaces[interface]);
    json_add_count(item, "requester", requester);
    json_add_number(item, "address", address == DBR_ADDRESS_GLOBAL ? (double)NAN : address, 0);
}

static void add_clear(cJSON *list, const struct dbr_report *r, const struct dbr_trouble_clear *c)
{
    cJSON *item = json_add_item(list);
    bool answered = c->answer != DBR_CLEAR_UNANSWERED;

    add_asked(item, r, c->interface, c->requester, c->address);
    json_add_text(item, "kind", dbr_clear_kind_name(c->kind));
    if (c->kind == DBR_CLEAR_ONE) {
        json_add_bool(item, "active", c->active);
        json_add_count(item, "spn", c->code.spn);
        json_add_count(item, "fmi", c->code.fmi);
    }
    json_add_time(item, "at", c->at_ns, r->history->timed);
    json_add_text(item, "answer", dbr_clear_answer_name(c->answer));
    json_add_number(item, "answered_by", answered ? c->answered_by : (double)NAN, 0);
}

void json_add_codes(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_troubles *t = &r->history->troubles;
    cJSON *codes = json_add_list(root, "trouble_codes");
    for (size_t i = 0; i < t->count; i++)
        add_trouble(codes, r, &t->items[i]);

    cJSON *senders = json_add_list(root, "trouble_code_senders");
    for (size_t i = 0; i < t->sender_count; i++)
        add_sender(senders, r, &t->senders[i]);

    cJSON *clears = json_add_list(root, "trouble_code_clears");
    for (size_t i = 0; i < t->clear_count; i++)
        add_clear(clears, r, &t->clears[i]);

    cJSON *stops = json_add_list(root, "broadcast_stops");
    for (size_t i = 0; i < t->stop_count; i++) {
        const struct dbr_broadcast_stop *stop = &t->stops[i];
        cJSON *item = json_add_item(stops);
        add_asked(item, r, stop->interface, stop->requester, stop->address);
        json_add_time(item, "start", stop->start_ns, true);
        json_add_time(item, "end", stop->end_ns, !stop->open);
        json_add_count(item, "reminders", stop->reminders);
    }
}
