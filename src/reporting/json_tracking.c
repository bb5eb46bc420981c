/* json_tracking.c - buses, ECUs and speed sources in the JSON report. */
#include <inttypes.h>
#include <math.h>
#include <stdio.h>

#include "drawbar/name.h"
#include "reporting/json.h"

static uint64_t spell_total(const struct dbr_spells *spells)
{
    return spells->count + spells->folded;
}

static void add_counter(cJSON *object, const char *key, int value)
{
    json_add_number(object, key, value < 0 ? (double)NAN : value, 0);
}

void json_add_buses(cJSON *root, const struct dbr_report *r)
{
    cJSON *list = json_add_list(root, "buses");

    for (size_t i = 0; i < r->history->bus_count; i++) {
        const struct dbr_bus *b = &r->history->buses[i];
        cJSON *bus = json_add_item(list);
        json_add_text(bus, "interface", r->info->interfaces[i]);
        json_add_count(bus, "bitrate", r->bitrate);
        json_add_count(bus, "frames", b->frames);
        json_add_number(bus, "load_mean_percent",
                        b->measured ? b->load_mean_percent : (double)NAN, 3);
        json_add_number(bus, "load_peak_percent",
                        b->measured ? b->load_peak_percent : (double)NAN, 3);
        json_add_time(bus, "load_peak_at", b->load_peak_at_ns, b->measured);
        json_add_count(bus, "error_frames", b->error_frames);
        json_add_count(bus, "bus_off", spell_total(&b->off));
        json_add_count(bus, "restarts", b->restarts);
        json_add_count(bus, "error_passive", spell_total(&b->passive));
        json_add_count(bus, "error_warning", spell_total(&b->warning));
        add_counter(bus, "transmit_errors_max", b->transmit_errors_max);
        add_counter(bus, "receive_errors_max", b->receive_errors_max);
    }
}

/* The groups that an ECU sends, with their cadence. */
static void add_messages(cJSON *object, const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    cJSON *list = json_add_list(object, "messages");

    for (size_t i = 0; i < h->stream_count; i++) {
        const struct dbr_stream *s = &h->streams[i];
        if (s->interface != ecu->interface || s->address != ecu->address)
            continue;
        cJSON *item = json_add_item(list);
        json_add_count(item, "pgn", s->pgn);
        json_add_text(item, "name", s->message ? s->message->name : NULL);
        json_add_number(item, "destination", s->broadcast ? (double)NAN : s->destination, 0);
        json_add_count(item, "frames", s->frames);
        json_add_time(item, "first", s->first_ns, h->timed);
        json_add_time(item, "last", s->last_ns, h->timed);
        json_add_number(item, "interval_median_s", h->timed ? s->cadence.median_s : (double)NAN, 6);
        json_add_number(item, "interval_longest_s", h->timed ? s->cadence.longest_s : (double)NAN,
                        6);
    }
}

static void add_name_fields(cJSON *object, const struct dbr_ecu *ecu)
{
    bool known = ecu->name_count > 0;
    struct dbr_name_fields f = {0};

    if (known)
        f = dbr_name_split(ecu->names[ecu->name_count - 1]);
    const struct {
        const char *key;
        uint32_t value;
    } rows[] = {{"function", f.function},
                {"industry_group", f.industry_group},
                {"manufacturer_code", f.manufacturer_code},
                {"device_class", f.device_class},
                {"identity_number", f.identity},
                {"ecu_instance", f.ecu_instance},
                {"function_instance", f.function_instance},
                {"device_class_instance", f.device_class_instance}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        json_add_number(object, rows[i].key, known ? rows[i].value : (double)NAN, 0);
    json_add_text(object, "function_words", known ? dbr_name_function_words(&f) : NULL);
    json_add_text(object, "device_class_words", known ? dbr_name_class_words(&f) : NULL);
    json_add_text(object, "industry_group_words", known ? dbr_name_group_words(&f) : NULL);
    if (known)
        json_add_bool(object, "self_configurable", f.self_configurable);
    else
        json_add_null(object, "self_configurable");
}

/* The NAME in force, and all that claimed the address, in the order of time. */
static void add_names(cJSON *object, const struct dbr_ecu *ecu)
{
    char texts[DBR_NAMES_MAX][24];
    const char *items[DBR_NAMES_MAX];
    struct dbr_lines names = {ecu->name_count, items};

    for (size_t i = 0; i < ecu->name_count; i++) {
        snprintf(texts[i], sizeof texts[i], "%016" PRIX64, ecu->names[i]);
        items[i] = texts[i];
    }
    json_add_text(object, "name", ecu->name_count > 0 ? items[ecu->name_count - 1] : NULL);
    json_add_lines(object, "names", &names);
}

static void add_moment(cJSON *list, int64_t ns)
{
    cJSON *item = cJSON_CreateNumber((double)(ns / 1000) / 1e6);

    if (!item || !cJSON_AddItemToArray(list, item))
        list->type = cJSON_Invalid; /* json_values.c: it is then refused as a whole */
}

/* When it claimed, started again, and when its address was contested; the first ones of each. */
static void add_events(cJSON *object, const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    cJSON *claims = json_add_list(object, "claim_times");
    cJSON *restarts = json_add_list(object, "restart_times");
    cJSON *contests = json_add_list(object, "contest_times");

    if (!claims || !restarts || !contests || !h->timed)
        return;
    for (size_t i = 0; i < ecu->claims && i < DBR_CLAIM_TIMES_MAX; i++)
        add_moment(claims, ecu->claim_ns[i]);
    for (size_t i = 0; i < h->restart_count; i++)
        if (&h->ecus[h->restarts[i].ecu] == ecu)
            add_moment(restarts, h->restarts[i].at_ns);
    for (size_t i = 0; i < h->conflict_count; i++)
        if (h->conflicts[i].interface == ecu->interface && h->conflicts[i].address == ecu->address)
            add_moment(contests, h->conflicts[i].at_ns);
}

void json_add_ecus(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_history *h = r->history;
    cJSON *list = json_add_list(root, "ecus");
    char label[DBR_LABEL_MAX];

    for (size_t i = 0; i < h->ecu_count; i++) {
        const struct dbr_ecu *e = &h->ecus[i];
        cJSON *ecu = json_add_item(list);
        json_add_text(ecu, "interface", r->info->interfaces[e->interface]);
        json_add_count(ecu, "address", e->address);
        add_names(ecu, e);
        dbr_ecu_label(label, sizeof label, e);
        json_add_text(ecu, "label", label);
        add_name_fields(ecu, e);
        json_add_count(ecu, "frames", e->frames);
        json_add_time(ecu, "first", e->first_ns, h->timed);
        json_add_time(ecu, "last", e->last_ns, h->timed);
        json_add_count(ecu, "claims", e->claims);
        json_add_count(ecu, "restarts", e->restarts);
        json_add_spells(ecu, "silences", &e->silences);
        json_add_identity(ecu, h, e);
        add_events(ecu, h, e);
        add_messages(ecu, h, e);
    }
}

static void add_spell_lists(cJSON *object, const struct dbr_speed_source *s)
{
    const struct {
        const char *key;
        const struct dbr_spells *spells;
    } lists[] = {{"not_available", &s->not_available}, {"error", &s->in_error},
                 {"lost", &s->lost},                   {"stuck_zero", &s->stuck_zero},
                 {"frozen", &s->frozen},               {"erratic", &s->erratic}};
    cJSON *spells = json_add_object(object, "spells");

    for (size_t i = 0; i < sizeof lists / sizeof lists[0]; i++)
        if (lists[i].spells->count > 0)
            json_add_spells(spells, lists[i].key, lists[i].spells);
}

void json_add_sources(cJSON *root, const struct dbr_report *r)
{
    const struct dbr_history *h = r->history;
    cJSON *list = json_add_list(root, "speed_sources");
    char label[DBR_LABEL_MAX];

    for (size_t i = 0; i < h->source_count; i++) {
        const struct dbr_speed_source *s = &h->sources[i];
        const struct dbr_ecu *ecu = dbr_history_ecu(h, s->interface, s->address);
        cJSON *source = json_add_item(list);
        json_add_text(source, "interface", r->info->interfaces[s->interface]);
        json_add_count(source, "address", s->address);
        json_add_text(source, "kind", dbr_speed_kind_name(s->kind));
        json_add_count(source, "pgn", s->pgn);
        snprintf(label, sizeof label, "address %u", s->address);
        if (ecu)
            dbr_ecu_label(label, sizeof label, ecu);
        json_add_text(source, "label", label);
        json_add_text(source, "state", dbr_speed_state_name(s->state));
        json_add_count(source, "frames", s->frames);
        json_add_time(source, "first", s->first_ns, h->timed && s->frames > 0);
        json_add_time(source, "last", s->last_ns, h->timed && s->frames > 0);
        json_add_number(source, "max_mps", s->max_mps, 3);
        json_add_number(source, "ratio_to_reference", s->ratio_to_reference, 4);
        json_add_number(source, "reference", s->reference < 0 ? (double)NAN : s->reference, 0);
        json_add_number(source, "compared_s", s->compared_s, 1);
        add_spell_lists(source, s);
    }
}

static void add_link(cJSON *list, const struct dbr_history *h, enum dbr_link link,
                     const struct dbr_link_story *story)
{
    for (size_t i = 0; i < story->count; i++) {
        const struct dbr_link_interval *interval = &story->items[i];
        bool last = i + 1 == story->count && interval->end_ns >= h->end_ns;
        cJSON *item = json_add_item(list);
        json_add_text(item, "link", dbr_link_name(link));
        json_add_text(item, "state", dbr_answer_name(interval->answer));
        json_add_time(item, "start", interval->start_ns, true);
        json_add_time(item, "end", interval->end_ns, !last);
        json_add_text(item, "evidence", dbr_link_reason_words(interval->reason));
    }
}

/* Name and type as the implement's description has them; unknown without one. */
static void add_element(cJSON *item, const struct dbr_history *h,
                        const struct dbr_implement *implement, uint16_t number)
{
    const struct dbr_device_object *element =
        dbr_history_element(h, implement->interface, implement->address, number);

    json_add_count(item, "element", number);
    json_add_text(item, "element_name", element ? element->text : NULL);
    json_add_text(item, "element_type", element ? dbr_element_type_words(element->type) : NULL);
}

static void add_meters(cJSON *object, const struct dbr_report *r,
                       const struct dbr_implement *implement)
{
    cJSON *list = json_add_list(object, "meters");

    for (size_t i = 0; i < implement->meter_count; i++) {
        const struct dbr_meter *m = &implement->meters[i];
        cJSON *item = json_add_item(list);
        add_element(item, r->history, implement, m->element);
        json_add_number(item, "seconds", m->seconds, 1);
        json_add_number(item, "setpoint_kg_m2", m->setpoint_kg_m2, 7);
        json_add_number(item, "actual_kg_m2", m->actual_kg_m2, 7);
        json_add_number(item, "speed_mps", m->speed_mps, 3);
        json_add_number(item, "turns_per_s", m->turns_per_s, 4);
        json_add_number(item, "width_m", m->width_m, 3);
        json_add_number(item, "expected_turns_per_s", dbr_rig_expected_turns(r->rig, i, m), 4);
        json_add_number(item, "metered_kg_m2", dbr_rig_metered_rate(r->rig, i, m), 7);
    }
}

void json_add_chain(cJSON *root, const struct dbr_report *r)
{
    cJSON *list = json_add_list(root, "chain");

    for (size_t i = 0; i < r->history->implement_count; i++) {
        const struct dbr_implement *implement = &r->history->implements[i];
        cJSON *item = json_add_item(list);
        json_add_text(item, "interface", r->info->interfaces[implement->interface]);
        json_add_count(item, "implement", implement->address);
        cJSON *links = json_add_list(item, "links");
        for (int l = 0; l < DBR_LINKS; l++)
            add_link(links, r->history, (enum dbr_link)l, &implement->links[l]);
        add_meters(item, r, implement);
    }
}
