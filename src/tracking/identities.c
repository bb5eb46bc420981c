/* identities.c - see identities.h. */
#include "tracking/identities.h"

#include <stdlib.h>
#include <string.h>

#include "text/clean.h"

static const uint64_t *name_in_force(const struct ecu *ecu)
{
    return ecu->seen.name_count > 0 ? &ecu->seen.names[ecu->seen.name_count - 1] : NULL;
}

static struct told_identity *find_named(struct identities *ids, uint8_t interface, uint64_t name)
{
    for (size_t i = 0; i < ids->count; i++) {
        struct told_identity *id = ids->items[i];
        if (id->named && id->name == name && id->interface == interface)
            return id;
    }
    return NULL;
}

static struct told_identity *find_unnamed(struct identities *ids, uint8_t interface,
                                          uint8_t address)
{
    for (size_t i = 0; i < ids->count; i++) {
        struct told_identity *id = ids->items[i];
        if (!id->named && id->address == address && id->interface == interface)
            return id;
    }
    return NULL;
}

/* The identity of whoever holds the ECU's address now, made where it is new; NULL beyond the
 * ceiling. */
static struct told_identity *identity_of(struct identities *ids, const struct ecu *ecu)
{
    const uint64_t *name = name_in_force(ecu);
    struct told_identity *id = name ? find_named(ids, ecu->seen.interface, *name)
                                    : find_unnamed(ids, ecu->seen.interface, ecu->seen.address);

    if (id)
        return id;
    if (ids->count == DBR_IDENTITIES_MAX) {
        ids->beyond++;
        return NULL;
    }
    id = calloc(1, sizeof *id);
    if (!id) {
        ids->out_of_memory = true;
        return NULL;
    }
    id->interface = ecu->seen.interface;
    id->address = ecu->seen.address;
    id->named = name != NULL;
    id->name = name ? *name : 0;
    ids->items[ids->count++] = id;
    return id;
}

static void keep(struct identities *ids, struct told_identity *id, enum dbr_told_group group,
                 int64_t now)
{
    struct dbr_told *told = id->told[group];
    struct dbr_told *fresh = &ids->scratch;

    fresh->first_ns = told ? told->first_ns : now;
    fresh->changed_ns = told ? told->changed_ns : -1;
    if (told && !dbr_told_same(told, fresh))
        fresh->changed_ns = now;
    if (!told)
        told = id->told[group] = malloc(sizeof *told);
    if (!told) {
        ids->out_of_memory = true;
        return;
    }
    *told = *fresh;
    id->seen.told[group] = told;
}

void identities_message(struct identities *ids, const struct sighting *s)
{
    enum dbr_told_group group = dbr_told_group_of(s->id.pgn);

    if (group == DBR_TOLD_GROUPS || !s->ecu ||
        !dbr_told_read(&ids->scratch, group, s->data, s->length))
        return;
    struct told_identity *id = identity_of(ids, s->ecu);
    if (id)
        keep(ids, id, group, s->now_ns);
}

static void designate(struct told_identity *id, const char *text)
{
    clean_told(id->seen.designator, sizeof id->seen.designator, (const uint8_t *)text,
                    strlen(text));
}

void identities_designate(struct identities *ids, const struct ecu *ecu, const char *text)
{
    struct told_identity *id = *text ? identity_of(ids, ecu) : NULL;

    if (id)
        designate(id, text);
}

/* Two ECUs went on sending under it. */
static bool is_shared(const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    for (size_t i = 0; i < h->conflict_count; i++)
        if (h->conflicts[i].interface == ecu->interface &&
            h->conflicts[i].address == ecu->address && h->conflicts[i].shared_from_ns >= 0)
            return true;
    return false;
}

/* Whether who used the address before its first claim may have been another ECU. */
static bool was_anothers(const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    if (ecu->name_count > 1)
        return true;
    for (size_t i = 0; i < h->conflict_count; i++)
        if (h->conflicts[i].interface == ecu->interface &&
            h->conflicts[i].address == ecu->address && !h->conflicts[i].incumbent_named)
            return true;
    return false;
}

/* What one ECU told before its claim was seen joins what it told after. */
static void join(struct told_identity *into, struct told_identity *earlier)
{
    for (int g = 0; g < DBR_TOLD_GROUPS; g++) {
        struct dbr_told *before = earlier->told[g], *after = into->told[g];
        if (!before)
            continue;
        if (!after) {
            into->seen.told[g] = into->told[g] = before;
            earlier->seen.told[g] = earlier->told[g] = NULL;
            continue;
        }
        if (after->changed_ns < 0 && !dbr_told_same(before, after))
            after->changed_ns = after->first_ns;
        after->first_ns = before->first_ns;
    }
    if (into->seen.designator[0] == '\0')
        designate(into, earlier->seen.designator);
}

static const struct dbr_identity *known_of(struct identities *ids, const struct ecu *ecu,
                                           const struct dbr_history *h)
{
    const uint64_t *name = name_in_force(ecu);
    struct told_identity *named = name ? find_named(ids, ecu->seen.interface, *name) : NULL;
    struct told_identity *unnamed = find_unnamed(ids, ecu->seen.interface, ecu->seen.address);

    if (is_shared(h, &ecu->seen))
        return NULL;
    if (unnamed && was_anothers(h, &ecu->seen))
        unnamed = NULL;
    if (named && unnamed && named->address == unnamed->address)
        join(named, unnamed);
    if (named)
        return &named->seen;
    return unnamed ? &unnamed->seen : NULL;
}

void identities_finish(struct identities *ids, struct ecus *ecus,
                       const struct dbr_history *history)
{
    for (size_t i = 0; i < ecus->count; i++)
        ecus->items[i]->seen.identity = known_of(ids, ecus->items[i], history);
}

void identities_release(struct identities *ids)
{
    for (size_t i = 0; i < ids->count; i++) {
        for (int g = 0; g < DBR_TOLD_GROUPS; g++)
            free(ids->items[i]->told[g]);
        free(ids->items[i]);
    }
}
