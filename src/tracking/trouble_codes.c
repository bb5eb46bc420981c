/* trouble_codes.c - see trouble_codes.h. */
#include "tracking/trouble_codes.h"

/* An active fault is told every second (SAE J1939-73 5.7.1); five missed lists are no accident
 * (common practice, no source). */
#define DUE_NS (5 * NS_PER_S)

static bool same_code(const struct dbr_trouble_code *a, const struct dbr_trouble_code *b)
{
    return a->spn == b->spn && a->fmi == b->fmi && a->older_layout == b->older_layout;
}

static bool is_from(const struct trouble *trouble, const struct sighting *s, bool previously)
{
    return trouble->seen.interface == s->frame->interface &&
           trouble->seen.address == s->id.source && trouble->seen.previously == previously;
}

static struct trouble_sender *find_sender(struct trouble_codes *t, const struct sighting *s)
{
    for (size_t i = 0; i < t->sender_count; i++)
        if (t->senders[i].seen.interface == s->frame->interface &&
            t->senders[i].seen.address == s->id.source)
            return &t->senders[i];
    if (t->sender_count == DBR_TROUBLE_SENDERS_MAX)
        return NULL;
    struct trouble_sender *sender = &t->senders[t->sender_count++];
    *sender = (struct trouble_sender){.seen = {.interface = s->frame->interface,
                                               .address = s->id.source,
                                               .first_ns = s->now_ns},
                                      .ecu_first_ns = s->ecu ? s->ecu->seen.first_ns : s->now_ns};
    for (size_t i = 0; i < DBR_LAMPS; i++)
        sender->seen.lamps.state[i] = DBR_LAMP_NOT_AVAILABLE;
    return sender;
}

static struct trouble *find_trouble(struct trouble_codes *t, const struct sighting *s,
                                    const struct dbr_trouble_code *code, bool previously)
{
    for (size_t i = 0; i < t->count; i++)
        if (is_from(&t->items[i], s, previously) && same_code(&t->items[i].seen.code, code))
            return &t->items[i];
    if (t->count == DBR_TROUBLES_MAX)
        return NULL;
    struct trouble *trouble = &t->items[t->count++];
    *trouble = (struct trouble){.seen = {.interface = s->frame->interface,
                                         .address = s->id.source,
                                         .previously = previously,
                                         .code = *code,
                                         .first_ns = s->now_ns,
                                         .first_count = code->count,
                                         .alone = true,
                                         .gone_ns = -1,
                                         .returned_ns = -1}};
    for (size_t i = 0; i < DBR_LAMPS; i++)
        trouble->seen.lamps.state[i] = DBR_LAMP_NOT_AVAILABLE;
    return trouble;
}

/* The worst of each lamp stays, and how it flashed. */
static void add_lamps(struct dbr_lamps *worst, const struct dbr_lamps *lamps)
{
    static const int weight[] = {
        [DBR_LAMP_NOT_AVAILABLE] = 0, [DBR_LAMP_OFF] = 1, [DBR_LAMP_ERROR] = 2, [DBR_LAMP_ON] = 3};

    for (size_t i = 0; i < DBR_LAMPS; i++) {
        bool flashes = lamps->state[i] == worst->state[i] && lamps->flash[i] == DBR_FLASH_FAST;
        if (weight[lamps->state[i]] <= weight[worst->state[i]] && !flashes)
            continue;
        worst->state[i] = lamps->state[i];
        worst->flash[i] = lamps->flash[i];
    }
}

/* `first_list`: of its ECU, and soon after the ECU itself was first heard. */
static void take_code(struct trouble *trouble, const struct trouble_sender *sender,
                      const struct sighting *s, const struct dbr_trouble_list *list,
                      const struct dbr_trouble_code *code)
{
    struct dbr_trouble *seen = &trouble->seen;
    bool first_list = !sender || (sender->seen.lists == 1 &&
                                  s->now_ns - sender->ecu_first_ns <= DUE_NS);

    if (seen->reports == 0)
        seen->from_start = first_list;
    else if (!trouble->active) {
        seen->returns++;
        seen->returned_ns = s->now_ns;
    }
    trouble->active = true;
    seen->reports++;
    seen->last_ns = s->now_ns;
    seen->code = *code;
    add_lamps(&seen->lamps, &list->lamps);
}

/* Codes of this ECU that the list no longer holds. */
static void end_others(struct trouble_codes *t, const struct sighting *s, uint64_t list)
{
    for (size_t i = 0; i < t->count; i++) {
        struct trouble *trouble = &t->items[i];
        if (!is_from(trouble, s, false) || !trouble->active || trouble->list == list)
            continue;
        trouble->active = false;
        trouble->seen.gone_ns = s->now_ns;
    }
}

static void mark_company(struct trouble_codes *t, const struct sighting *s, uint64_t list)
{
    for (size_t i = 0; i < t->count; i++)
        if (is_from(&t->items[i], s, false) && t->items[i].list == list)
            t->items[i].seen.alone = false;
}

/* How many codes the list held. */
static size_t take_codes(struct trouble_codes *t, const struct sighting *s,
                         struct dbr_trouble_list *list, const struct trouble_sender *sender)
{
    struct dbr_trouble_code code;
    size_t count = 0;

    for (; dbr_trouble_list_next(list, &code); count++) {
        struct trouble *trouble = find_trouble(t, s, &code, !sender);
        if (!trouble) {
            t->beyond++;
            continue;
        }
        /* A code that stands twice in one list is one. */
        if (sender && trouble->list == sender->seen.lists)
            continue;
        trouble->list = sender ? sender->seen.lists : 0;
        take_code(trouble, sender, s, list, &code);
    }
    return count;
}

static void take_active(struct trouble_codes *t, const struct sighting *s)
{
    struct trouble_sender *sender = find_sender(t, s);
    struct dbr_trouble_list list;

    if (!sender) {
        t->beyond++;
        return;
    }
    if (!dbr_trouble_list_open(&list, s->data, s->length)) {
        sender->seen.malformed++;
        return;
    }
    sender->seen.lists++;
    sender->seen.malformed += list.ragged > 0;
    sender->seen.last_ns = s->now_ns;
    add_lamps(&sender->seen.lamps, &list.lamps);
    size_t count = take_codes(t, s, &list, sender);
    sender->seen.told_codes = sender->seen.told_codes || count > 0;
    sender->seen.told_none = sender->seen.told_none || (count == 0 && list.told_none);
    if (count > 0 || list.told_none) /* bytes all FF say neither */
        end_others(t, s, sender->seen.lists);
    if (count > 1)
        mark_company(t, s, sender->seen.lists);
}

bool trouble_codes_concern(uint32_t pgn)
{
    return pgn == DBR_PGN_DM1 || pgn == DBR_PGN_DM2;
}

void trouble_codes_message(struct trouble_codes *t, const struct sighting *s)
{
    struct dbr_trouble_list list;

    if (s->id.pgn == DBR_PGN_DM1)
        take_active(t, s);
    else if (s->id.pgn == DBR_PGN_DM2 && dbr_trouble_list_open(&list, s->data, s->length))
        take_codes(t, s, &list, NULL);
}

/* Whether the ECU went on after its last list for longer than one is due. */
static enum dbr_trouble_end end_of(const struct trouble *trouble, const struct ecus *ecus,
                                   int64_t last_list_ns)
{
    const struct dbr_trouble *seen = &trouble->seen;
    const struct ecu *ecu = ecus->by_address[seen->interface][seen->address];

    if (!trouble->active)
        return DBR_TROUBLE_GONE;
    if (ecu && ecu->seen.last_ns - last_list_ns > DUE_NS)
        return DBR_TROUBLE_UNTOLD;
    if (ecu && ecu->seen.silences.count > 0 &&
        ecu->seen.silences.items[ecu->seen.silences.count - 1].open)
        return DBR_TROUBLE_UNKNOWN;
    return DBR_TROUBLE_STAYS;
}

void trouble_codes_finish(struct trouble_codes *t, const struct ecus *ecus,
                          const struct dbr_definitions *definitions, bool timed)
{
    for (size_t i = 0; i < t->count; i++) {
        struct trouble *trouble = &t->items[i];
        struct dbr_trouble *seen = &trouble->seen;
        int64_t last_list_ns = seen->last_ns;
        for (size_t k = 0; k < t->sender_count && !seen->previously; k++)
            if (t->senders[k].seen.interface == seen->interface &&
                t->senders[k].seen.address == seen->address)
                last_list_ns = t->senders[k].seen.last_ns;
        if (!seen->code.older_layout)
            seen->spn_words = dbr_spn_words(definitions, seen->code.spn);
        seen->from_start = seen->from_start || !timed;
        seen->end = seen->previously ? DBR_TROUBLE_UNKNOWN : end_of(trouble, ecus, last_list_ns);
        if (!timed && seen->end == DBR_TROUBLE_STAYS)
            seen->end = DBR_TROUBLE_UNKNOWN;
    }
}
