/* closeup_curves.c - speeds and rates as they came, see closeup.h. */
#include <math.h>
#include <stdlib.h>

#include "drawbar/process_data.h"
#include "tracking/closeup.h"
#include "tracking/process_roles.h"

_Static_assert(DBR_ROLE_SPEED_IMPLEMENT - DBR_ROLE_SPEED_WHEEL == DBR_SPEED_IMPLEMENT,
               "roles and kinds of speed stand in one order");

/* The curve of a value, as yet without points; false where it has none. */
static bool describe(struct dbr_closeup_curve *curve, const struct dbr_history *h,
                     const struct dbr_seen *seen, const struct role_value *v)
{
    *curve = (struct dbr_closeup_curve){.source = -1,
                                        .interface = seen->interface,
                                        .address = v->subject,
                                        .element = v->element,
                                        .by_mass = v->by_mass};
    if (v->role == DBR_ROLE_RATE_SETPOINT || v->role == DBR_ROLE_RATE_ACTUAL) {
        curve->quantity = v->role == DBR_ROLE_RATE_ACTUAL ? DBR_QUANTITY_RATE_ACTUAL
                                                          : DBR_QUANTITY_RATE_SETPOINT;
        return true;
    }
    curve->quantity = DBR_QUANTITY_SPEED;
    for (size_t i = 0; i < h->source_count; i++) {
        const struct dbr_speed_source *source = &h->sources[i];
        if (source->interface == seen->interface && source->address == seen->id.source &&
            source->pgn == seen->id.pgn && source->element == v->element &&
            (int)source->kind == (int)v->role - (int)DBR_ROLE_SPEED_WHEEL) {
            curve->source = (int)i;
            curve->address = source->address;
            return true;
        }
    }
    return false;
}

static bool same_curve(const struct dbr_closeup_curve *a, const struct dbr_closeup_curve *b)
{
    return a->quantity == b->quantity && a->source == b->source && a->interface == b->interface &&
           a->address == b->address && a->element == b->element && a->by_mass == b->by_mass;
}

static struct curve *get_curve(struct closeup *c, const struct dbr_closeup_curve *wanted)
{
    for (size_t i = 0; i < c->seen.curve_count; i++)
        if (same_curve(&c->curves[i].seen, wanted))
            return &c->curves[i];
    if (!c->curves)
        c->curves = calloc(DBR_CLOSEUP_CURVES_MAX, sizeof *c->curves);
    c->out_of_memory = c->out_of_memory || !c->curves;
    if (!c->curves || c->seen.curve_count == DBR_CLOSEUP_CURVES_MAX)
        return NULL;
    struct curve *curve = &c->curves[c->seen.curve_count++];
    curve->seen = *wanted;
    return curve;
}

static bool has_room(struct closeup *c, struct curve *curve)
{
    if (curve->seen.count < curve->room)
        return true;
    if (curve->room >= DBR_CLOSEUP_POINTS_MAX)
        return false;
    size_t room = curve->room > 0 ? curve->room * 2 : 64;
    struct dbr_closeup_point *points = realloc(curve->points, room * sizeof *points);
    c->out_of_memory = c->out_of_memory || !points;
    if (!points)
        return false;
    curve->points = points;
    curve->room = room;
    return true;
}

static void take_value(struct closeup *c, const struct dbr_history *h, const struct dbr_seen *seen,
                       const struct role_value *v)
{
    struct dbr_closeup_curve wanted;

    if (!describe(&wanted, h, seen, v))
        return;
    struct curve *curve = get_curve(c, &wanted);
    if (!curve) {
        c->seen.curves_beyond++;
        return;
    }
    if (!has_room(c, curve)) {
        curve->seen.folded++;
        return;
    }
    double value = v->status == DBR_VALUE_VALID ? v->si : (double)NAN;
    curve->points[curve->seen.count++] = (struct dbr_closeup_point){
        seen->at_ns, curve->seen.quantity == DBR_QUANTITY_SPEED ? fabs(value) : value, v->status};
}

static bool is_drawn(enum dbr_role role)
{
    return role == DBR_ROLE_RATE_SETPOINT || role == DBR_ROLE_RATE_ACTUAL ||
           (role >= DBR_ROLE_SPEED_WHEEL && role <= DBR_ROLE_SPEED_IMPLEMENT);
}

/* A controller's set-point is about the implement that it sends it to. */
static uint8_t subject_of(const struct dbr_history *h, const struct dbr_seen *seen,
                          enum dbr_role role)
{
    for (size_t i = 0; role == DBR_ROLE_RATE_SETPOINT && i < h->implement_count; i++)
        if (h->implements[i].interface == seen->interface &&
            h->implements[i].address == seen->id.destination)
            return seen->id.destination;
    return seen->id.source;
}

void closeup_take_values(struct closeup *c, const struct dbr_history *history,
                         const struct dbr_seen *seen)
{
    struct dbr_process_data data;
    struct role_value v;

    if (seen->id.pgn == DBR_PGN_PROCESS_DATA &&
        dbr_process_data_read(&data, seen->data, seen->length) && process_role(&data, &v) &&
        is_drawn(v.role)) {
        v.subject = subject_of(history, seen, v.role);
        take_value(c, history, seen, &v);
    }
    for (size_t i = 0; seen->message && i < seen->message->signal_count; i++) {
        const struct dbr_signal *signal = &seen->message->signals[i];
        if (!is_drawn(signal->role))
            continue;
        struct dbr_value value = dbr_signal_decode(signal, seen->data, seen->length);
        v = (struct role_value){.role = signal->role,
                                .status = value.status,
                                .si = value.number * signal->si_factor,
                                .subject = seen->id.source};
        take_value(c, history, seen, &v);
    }
}

void closeup_close_curves(struct closeup *c)
{
    if (c->seen.curve_count == 0)
        return;
    c->seen_curves = calloc(c->seen.curve_count, sizeof *c->seen_curves);
    if (!c->seen_curves) {
        c->out_of_memory = true;
        c->seen.curve_count = 0;
        return;
    }
    for (size_t i = 0; i < c->seen.curve_count; i++) {
        c->curves[i].seen.points = c->curves[i].points;
        c->seen_curves[i] = c->curves[i].seen;
    }
    c->seen.curves = c->seen_curves;
}
