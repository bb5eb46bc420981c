/* speeds.c - see speeds.h. */
#include "tracking/speeds.h"

#include <math.h>

#include "tracking/partings.h"

/* Contract, findings table. */
#define NOT_AVAILABLE_NS (2 * NS_PER_S)
#define IN_ERROR_NS (NS_PER_S / 2)
#define LOST_MIN_NS NS_PER_S
#define LOST_PERIODS 10
#define ERRATIC_STEP_MPS 2.0
#define ERRATIC_WITHIN_NS (NS_PER_S / 5)
#define ERRATIC_STEPS 3u
#define ERRATIC_SPAN_NS (10 * NS_PER_S)

/* A source had been sending when it sent so often: fewer tell no period. */
#define SENDING_FRAMES 5u

/* A speed holds for half a second, or for three periods of a slow source. */
#define FRESH_NS (NS_PER_S / 2)
#define FRESH_PERIODS 3

struct role_kind {
    enum dbr_role speed, distance, direction;
    enum dbr_speed_kind kind;
};

static const struct role_kind role_kinds[] = {
    {DBR_ROLE_SPEED_WHEEL, DBR_ROLE_DISTANCE_WHEEL, DBR_ROLE_DIRECTION_WHEEL, DBR_SPEED_WHEEL},
    {DBR_ROLE_SPEED_GROUND, DBR_ROLE_DISTANCE_GROUND, DBR_ROLE_DIRECTION_GROUND, DBR_SPEED_GROUND},
    {DBR_ROLE_SPEED_SELECTED, DBR_ROLE_DISTANCE_SELECTED, DBR_ROLE_DIRECTION_SELECTED,
     DBR_SPEED_SELECTED},
    {DBR_ROLE_SPEED_VEHICLE, DBR_ROLE_NONE, DBR_ROLE_NONE, DBR_SPEED_VEHICLE},
    {DBR_ROLE_SPEED_NAVIGATION, DBR_ROLE_NONE, DBR_ROLE_NONE, DBR_SPEED_NAVIGATION},
    {DBR_ROLE_SPEED_GNSS, DBR_ROLE_NONE, DBR_ROLE_NONE, DBR_SPEED_GNSS},
    {DBR_ROLE_SPEED_IMPLEMENT, DBR_ROLE_DISTANCE_IMPLEMENT, DBR_ROLE_DIRECTION_IMPLEMENT,
     DBR_SPEED_IMPLEMENT},
};

static double period_ns(const struct source *src)
{
    return src->seen.frames > 1 ? (double)src->active_ns / (double)(src->seen.frames - 1) : 0.0;
}

bool source_is_fresh(const struct source *src, int64_t now)
{
    double limit = FRESH_PERIODS * period_ns(src);

    if (src->valid_ns < 0 || src->status != DBR_VALUE_VALID)
        return false;
    return (double)(now - src->valid_ns) <= (limit > FRESH_NS ? limit : FRESH_NS);
}

bool source_is_sound(const struct source *src, int64_t now)
{
    bool stuck_now = src->stuck.on && src->stuck_proven && src->mps < STILL_MPS;
    return source_is_fresh(src, now) && !src->simulated && !src->erratic.on && !src->frozen &&
           !stuck_now;
}

static struct source *find_source(struct speeds *sp, const struct sighting *s,
                                  enum dbr_speed_kind kind, uint16_t element)
{
    for (size_t i = 0; i < sp->count; i++) {
        struct dbr_speed_source *seen = &sp->items[i].seen;
        if (seen->interface == s->frame->interface && seen->address == s->id.source &&
            seen->kind == kind && seen->element == element && seen->pgn == s->id.pgn)
            return &sp->items[i];
    }
    return NULL;
}

static struct source *add_source(struct speeds *sp, const struct sighting *s,
                                 enum dbr_speed_kind kind, uint16_t element)
{
    if (sp->count == DBR_SPEED_SOURCES_MAX) {
        sp->beyond++;
        return NULL;
    }
    struct source *src = &sp->items[sp->count];
    *src = (struct source){.bus = s->bus,
                           .ecu = s->ecu,
                           .series = &sp->series[sp->count++],
                           .valid_ns = -1,
                           .direction = -1};
    src->seen = (struct dbr_speed_source){.interface = s->frame->interface,
                                          .address = s->id.source,
                                          .kind = kind,
                                          .pgn = s->id.pgn,
                                          .element = element,
                                          .first_ns = s->now_ns,
                                          .max_mps = (double)NAN,
                                          .reference = -1,
                                          .ratio_to_reference = (double)NAN,
                                          .selection = 255};
    return src;
}

/* A gap before this frame, on the clock of the bus: longer than a source may pause? */
static bool was_lost(const struct source *src, int64_t gap)
{
    double limit = LOST_PERIODS * period_ns(src);

    return src->seen.frames >= SENDING_FRAMES && gap > LOST_MIN_NS && (double)gap > limit;
}

static void count_frame(struct source *src, int64_t now)
{
    int64_t gap = src->bus->alive_ns - src->alive_at_last;

    if (src->seen.frames > 0 && was_lost(src, gap)) {
        struct dbr_spell spell = spell_make(src->seen.last_ns, now);
        spells_add(&src->seen.lost, &spell);
        watch_end(&src->not_available, &src->seen.not_available, src->seen.last_ns,
                  NOT_AVAILABLE_NS);
        watch_end(&src->in_error, &src->seen.in_error, src->seen.last_ns, IN_ERROR_NS);
    } else if (src->seen.frames > 0) {
        src->active_ns += gap;
    }
    src->seen.frames++;
    src->seen.last_ns = now;
    src->alive_at_last = src->bus->alive_ns;
}

/* Steps that no machine makes: three within ten seconds are a spell that ends when ten pass. */
static void judge_step(struct source *src, double mps, int64_t now)
{
    double step = fabs(mps - src->mps);

    if (src->erratic.on && now - src->erratic.spell.end_ns > ERRATIC_SPAN_NS)
        watch_end(&src->erratic, &src->seen.erratic, src->erratic.spell.end_ns, 0);
    if (src->valid_ns < 0 || now - src->valid_ns > ERRATIC_WITHIN_NS || step <= ERRATIC_STEP_MPS)
        return;
    src->steps[src->step_count++ % ERRATIC_STEPS] = now;
    int64_t oldest = src->steps[src->step_count % ERRATIC_STEPS];
    bool enough = src->step_count >= ERRATIC_STEPS && now - oldest <= ERRATIC_SPAN_NS;
    if (!src->erratic.on && !enough)
        return;
    if (!src->erratic.on)
        watch_hold(&src->erratic, oldest)->count = ERRATIC_STEPS - 1;
    struct dbr_spell *spell = watch_hold(&src->erratic, now);
    spell->count++;
    if (!(spell->own >= step))
        spell->own = step;
}

static void take_valid(struct source *src, double mps, int64_t now)
{
    judge_step(src, mps, now);
    witnesses_value(src, mps, now);
    odometer_speed(src, mps, now);
    series_value(src->series, now, mps);
    src->seen.valid++;
    if (!(src->seen.max_mps >= mps))
        src->seen.max_mps = mps;
    src->seen.moved = src->seen.moved || mps > MOVING_MPS;
    src->mps = mps;
    src->valid_ns = now;
}

/* A message without a usable value: the standard's reserved codes say no more than "none". */
static bool is_none(enum dbr_value_status status)
{
    return status == DBR_VALUE_NOT_AVAILABLE || status == DBR_VALUE_OUT_OF_RANGE ||
           status == DBR_VALUE_ABSENT;
}

static void take_speed(struct source *src, const struct role_value *v, int64_t now)
{
    count_frame(src, now);
    src->status = v->status;
    if (is_none(v->status))
        watch_hold(&src->not_available, now);
    else
        watch_end(&src->not_available, &src->seen.not_available, now, NOT_AVAILABLE_NS);
    if (v->status == DBR_VALUE_ERROR)
        watch_hold(&src->in_error, now);
    else
        watch_end(&src->in_error, &src->seen.in_error, now, IN_ERROR_NS);
    if (v->status == DBR_VALUE_VALID) {
        if (src->seen.valid == 0)
            src->seen.not_yet = src->seen.not_available.count;
        take_valid(src, fabs(v->si), now);
        return;
    }
    src->odometer.running = false;
    series_none(src->series, now, v->status);
}

static void take_direction(struct source *src, const struct role_value *v, int64_t now)
{
    bool known = v->status == DBR_VALUE_VALID && v->raw <= 1;

    src->direction = known ? (int)v->raw : -1;
    src->direction_ns = now;
}

static void take_selection(struct source *src, const struct role_value *v, int64_t now)
{
    struct dbr_speed_source *seen = &src->seen;

    if (v->status != DBR_VALUE_VALID || v->raw >= SELECTS_CODES)
        return;
    uint8_t to = (uint8_t)v->raw;
    if (seen->selection < SELECTS_CODES && seen->selection != to) {
        seen->changes_total++;
        if (seen->change_count < DBR_CHANGES_MAX)
            seen->changes[seen->change_count++] =
                (struct dbr_selection_change){now, seen->selection, to};
    }
    seen->selection = to;
    src->simulated = to == SELECTS_SIMULATED;
}

void speeds_value(struct speeds *sp, const struct sighting *s, const struct role_value *v)
{
    if (v->role == DBR_ROLE_SELECTION_SOURCE) {
        struct source *selected = find_source(sp, s, DBR_SPEED_SELECTED, 0);
        if (selected)
            take_selection(selected, v, s->now_ns);
        return;
    }
    for (size_t i = 0; i < sizeof role_kinds / sizeof role_kinds[0]; i++) {
        const struct role_kind *roles = &role_kinds[i];
        if (v->role != roles->speed && v->role != roles->distance && v->role != roles->direction)
            continue;
        struct source *src = find_source(sp, s, roles->kind, v->element);
        if (!src)
            src = add_source(sp, s, roles->kind, v->element);
        if (!src)
            return;
        if (v->role == roles->speed)
            take_speed(src, v, s->now_ns);
        else if (v->role == roles->distance)
            odometer_counter(src, v, s->now_ns);
        else
            take_direction(src, v, s->now_ns);
        return;
    }
}

bool speeds_any_valid(const struct speeds *sp, int64_t now)
{
    for (size_t i = 0; i < sp->count; i++)
        if (source_is_fresh(&sp->items[i], now))
            return true;
    return false;
}

const struct source *speeds_own(const struct speeds *sp, uint8_t interface, uint8_t address)
{
    for (size_t i = 0; i < sp->count; i++) {
        const struct dbr_speed_source *seen = &sp->items[i].seen;
        if (seen->kind == DBR_SPEED_IMPLEMENT && seen->interface == interface &&
            seen->address == address)
            return &sp->items[i];
    }
    return NULL;
}

bool speeds_stand(const struct speeds *sp)
{
    bool told = false;

    for (size_t i = 0; i < sp->count; i++) {
        if (sp->items[i].seen.valid == 0)
            continue;
        told = true;
        if (sp->items[i].mps > MOVING_MPS)
            return false;
    }
    return told;
}

int64_t speeds_tick(struct speeds *sp, int64_t now)
{
    if (now < sp->next_tick_ns)
        return sp->next_tick_ns;
    sp->next_tick_ns = now - now % SPEEDS_TICK_NS + SPEEDS_TICK_NS;
    if (sp->count > 0)
        witnesses_tick(sp, now);
    return sp->next_tick_ns;
}

/* Switching off ends a source as it should; so does turning the key, which cranking does too, and
 * an ECU that moves on. */
static bool is_excused(const struct source *src, const struct dbr_spell *gap,
                       const struct dbr_history *h)
{
    int64_t off_ns = src->bus->seen.switched_off_ns;

    if (gap->open && off_ns >= 0 && gap->end_ns > off_ns && gap->start_ns >= off_ns - NS_PER_S)
        return true;
    if (parting_with_key(src->bus, gap, NS_PER_S) || (src->ecu && parting_by_move(src->ecu, gap)))
        return true;
    for (size_t i = 0; i < h->restart_count; i++)
        if (h->restarts[i].with_all && src->ecu && h->restarts[i].ecu == src->ecu->index &&
            h->restarts[i].at_ns >= gap->start_ns && h->restarts[i].at_ns <= gap->end_ns + NS_PER_S)
            return true;
    return false;
}

static void drop_excused(struct source *src, const struct dbr_history *h)
{
    struct dbr_spells *lost = &src->seen.lost;
    size_t kept = 0;

    for (size_t i = 0; i < lost->count; i++)
        if (!is_excused(src, &lost->items[i], h))
            lost->items[kept++] = lost->items[i];
    lost->count = kept;
}

static void finish_source(struct source *src, int64_t end_ns)
{
    struct dbr_speed_source *seen = &src->seen;
    bool lost = was_lost(src, src->bus->alive_ns - src->alive_at_last);

    seen->period_s = seen->frames > 1 ? period_ns(src) / NS_PER_S : (double)NAN;
    if (lost) {
        struct dbr_spell spell = spell_make(seen->last_ns, end_ns);
        spell.open = true;
        spells_add(&seen->lost, &spell);
        watch_end(&src->not_available, &seen->not_available, seen->last_ns, NOT_AVAILABLE_NS);
        watch_end(&src->in_error, &seen->in_error, seen->last_ns, IN_ERROR_NS);
    }
    watch_finish(&src->not_available, &seen->not_available, end_ns, NOT_AVAILABLE_NS);
    watch_finish(&src->in_error, &seen->in_error, end_ns, IN_ERROR_NS);
    if (src->erratic.on && end_ns - src->erratic.spell.end_ns <= ERRATIC_SPAN_NS)
        watch_finish(&src->erratic, &seen->erratic, end_ns, 0);
    watch_end(&src->erratic, &seen->erratic, src->erratic.spell.end_ns, 0);
    watch_end(&src->distance_odd, &seen->distance, src->distance_odd.spell.end_ns, 0);
}

void speeds_finish(struct speeds *sp, const struct dbr_history *history)
{
    for (size_t i = 0; i < sp->count; i++) {
        finish_source(&sp->items[i], history->end_ns);
        drop_excused(&sp->items[i], history);
    }
    witnesses_finish(sp, history->end_ns);
    speeds_settle(sp);
}

void speeds_release(struct speeds *sp)
{
    ratios_release(&sp->ratios);
}
