/* pair.c - see pair.h. */
#include "support/pair.h"

#include <criterion/criterion.h>

#include "diagnosis/rules.h"

#define ADDRESS 140
#define GROUP 65300

static struct found one(const char *code, double from, double to)
{
    struct found found = {.kind = -1, .section = -1};

    found.seen = (struct dbr_finding){.code = code,
                                      .severity = DBR_FAULT,
                                      .address = ADDRESS,
                                      .pgn = GROUP,
                                      .timed = true,
                                      .count = 1};
    pair_time(&found, from, to);
    return found;
}

void pair_begin(struct pair *p, const char *effect, const char *cause)
{
    *p = (struct pair){.effect = one(effect, 20, 30), .cause = one(cause, 18, 30)};
    p->history.timed = true;
    p->history.end_ns = 60000000000;
    p->history.ecus = p->ecus;
    p->history.sources = p->sources;
    p->history.implements = p->implements;
    p->history.buses = p->buses;
    p->history.restarts = p->restarts;
    p->findings.history = &p->history;
}

void pair_time(struct found *found, double from, double to)
{
    found->seen.start_ns = (int64_t)(from * 1e9);
    found->seen.end_ns = (int64_t)(to * 1e9);
}

struct dbr_ecu *pair_ecu(struct pair *p, uint8_t interface, uint8_t address, uint64_t name)
{
    struct dbr_ecu *ecu = &p->ecus[p->history.ecu_count++];

    *ecu = (struct dbr_ecu){
        .interface = interface, .address = address, .name_count = 1, .names = {name}};
    return ecu;
}

struct dbr_speed_source *pair_source(struct pair *p, uint8_t address, enum dbr_speed_kind kind)
{
    struct dbr_speed_source *source = &p->sources[p->history.source_count++];

    *source = (struct dbr_speed_source){
        .address = address, .kind = kind, .pgn = GROUP, .selection = 255};
    return source;
}

void pair_restart(struct pair *p, double at)
{
    p->restarts[p->history.restart_count++] = (struct dbr_restart){.at_ns = (int64_t)(at * 1e9)};
}

void pair_code(struct pair *p, struct found *found, uint32_t spn, uint8_t fmi)
{
    p->trouble = (struct dbr_trouble){.code = {.spn = spn, .fmi = fmi}};
    found->seen.trouble = &p->trouble;
}

bool pair_linked(struct pair *p)
{
    p->findings.items[0] = &p->cause;
    p->findings.items[1] = &p->effect;
    p->findings.count = 2;
    findings_link(&p->findings);
    bool linked = p->effect.cause_count == 1 && p->effect.causes[0] == &p->cause;
    cr_assert_eq(p->effect.cause_count, linked ? 1 : 0, "%s", p->effect.seen.code);
    cr_assert_not(linked && p->cause.cause_count > 0, "%s", p->effect.seen.code);
    p->effect.cause_count = p->cause.cause_count = 0;
    return linked;
}
