/* transfers.c - see transfers.h. */
#include "tracking/transfers.h"

#include <string.h>

static bool is_flow_of(const struct dbr_transfer_flow *flow, const struct dbr_transfer *transfer)
{
    return flow->pgn == transfer->pgn && flow->source == transfer->source &&
           flow->destination == transfer->destination && flow->carrier == transfer->carrier &&
           flow->interface == transfer->interface;
}

static struct dbr_transfer_flow *find_flow(struct transfers *tr,
                                           const struct dbr_transfer *transfer)
{
    size_t count = tr->seen.flow_count;

    if (count > 0 && is_flow_of(&tr->flows[tr->last_flow], transfer))
        return &tr->flows[tr->last_flow];
    for (size_t i = 0; i < count; i++)
        if (is_flow_of(&tr->flows[i], transfer)) {
            tr->last_flow = i;
            return &tr->flows[i];
        }
    if (count == DBR_TRANSFER_FLOWS_MAX) {
        tr->seen.flows_beyond++;
        return NULL;
    }
    tr->last_flow = tr->seen.flow_count++;
    tr->flows[count] = (struct dbr_transfer_flow){.interface = transfer->interface,
                                                  .source = transfer->source,
                                                  .destination = transfer->destination,
                                                  .pgn = transfer->pgn,
                                                  .carrier = transfer->carrier};
    return &tr->flows[count];
}

static uint32_t reason_of(const struct dbr_transfer *transfer)
{
    switch (transfer->end) {
    case DBR_TRANSFER_ABORTED:
        return transfer->abort_reason;
    case DBR_TRANSFER_TIMED_OUT:
        return transfer->timer;
    case DBR_TRANSFER_BROKEN:
        return transfer->breach;
    case DBR_TRANSFER_COMPLETE:
    case DBR_TRANSFER_REPLACED:
    case DBR_TRANSFER_UNRECORDED:
    case DBR_TRANSFER_UNFINISHED:
        break;
    }
    return 0;
}

static struct dbr_failed_transfers *find_failure(struct transfers *tr, size_t flow,
                                                 const struct dbr_transfer *transfer)
{
    uint32_t reason = reason_of(transfer);

    for (size_t i = 0; i < tr->seen.failure_count; i++) {
        struct dbr_failed_transfers *f = &tr->failures[i];
        if (f->flow == flow && f->reason == reason && f->first.end == transfer->end &&
            f->first.by_receiver == transfer->by_receiver &&
            (f->first.breach != 0) == (transfer->breach != 0))
            return f;
    }
    if (tr->seen.failure_count == DBR_TRANSFER_FAILURES_MAX)
        return NULL;
    struct dbr_failed_transfers *f = &tr->failures[tr->seen.failure_count++];
    *f = (struct dbr_failed_transfers){.flow = flow, .reason = reason, .first = *transfer,
                                       .first_ns = transfer->start_ns};
    f->first.data = NULL;
    return f;
}

static void add_failure(struct transfers *tr, struct dbr_transfer_flow *flow,
                        const struct dbr_transfer *transfer)
{
    struct dbr_failed_transfers *f =
        flow ? find_failure(tr, (size_t)(flow - tr->flows), transfer) : NULL;

    tr->seen.failed++;
    if (flow)
        flow->failed++;
    if (!f) {
        tr->seen.failures_beyond++;
        return;
    }
    f->count++;
    f->last_ns = transfer->start_ns;
    f->ended_ns = transfer->end_ns;
}

void transfers_ended(struct transfers *tr, const struct dbr_transfer *transfer)
{
    struct dbr_transfer_flow *flow = find_flow(tr, transfer);
    bool is_connection = transfer->carrier == DBR_CARRIER_CONNECTION ||
                         transfer->carrier == DBR_CARRIER_EXTENDED;

    switch (transfer->end) {
    case DBR_TRANSFER_COMPLETE:
        tr->seen.complete++;
        tr->seen.unacknowledged += is_connection && !transfer->acknowledged;
        if (flow)
            flow->complete++;
        break;
    case DBR_TRANSFER_UNRECORDED:
        tr->seen.unrecorded++;
        break;
    case DBR_TRANSFER_UNFINISHED:
        tr->seen.unfinished++;
        break;
    case DBR_TRANSFER_ABORTED:
    case DBR_TRANSFER_TIMED_OUT:
    case DBR_TRANSFER_REPLACED:
    case DBR_TRANSFER_BROKEN:
        add_failure(tr, flow, transfer);
        break;
    }
}

static struct dbr_stray_flow *find_stray(struct transfers *tr,
                                         const struct dbr_stray_control *control)
{
    for (size_t i = 0; i < tr->seen.stray_count; i++) {
        const struct dbr_stray_control *c = &tr->strays[i].first;
        if (c->pgn == control->pgn && c->source == control->source &&
            c->destination == control->destination && c->control == control->control &&
            c->interface == control->interface && c->extended == control->extended)
            return &tr->strays[i];
    }
    if (tr->seen.stray_count == DBR_STRAY_FLOWS_MAX)
        return NULL;
    struct dbr_stray_flow *flow = &tr->strays[tr->seen.stray_count++];
    *flow = (struct dbr_stray_flow){.first = *control};
    return flow;
}

void transfers_strayed(struct transfers *tr, const struct dbr_stray_control *control)
{
    struct dbr_stray_flow *flow = find_stray(tr, control);

    if (!flow) {
        tr->seen.strays_beyond++;
        return;
    }
    flow->same_again += flow->count > 0 && control->packets > 0 && control->next == flow->next;
    flow->next = control->next;
    flow->last_ns = control->at_ns;
    flow->count++;
}

static const struct dbr_message *name_group(const struct dbr_definitions *definitions,
                                            const struct dbr_history *h, uint8_t interface,
                                            uint8_t source, uint32_t pgn)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(h, interface, source);
    const uint64_t *name = ecu && ecu->name_count ? &ecu->names[ecu->name_count - 1] : NULL;

    return dbr_definitions_find(definitions, pgn, source, name, NULL);
}

void transfers_finish(struct transfers *tr, const struct dbr_transport_counts *counts,
                      const struct dbr_definitions *definitions, struct dbr_history *h)
{
    for (size_t i = 0; i < tr->seen.failure_count; i++) {
        struct dbr_failed_transfers *f = &tr->failures[i];
        f->message = name_group(definitions, h, f->first.interface, f->first.source,
                                f->first.pgn);
    }
    for (size_t i = 0; i < tr->seen.stray_count; i++) {
        struct dbr_stray_flow *s = &tr->strays[i];
        s->message = name_group(definitions, h, s->first.interface, s->first.destination,
                                s->first.pgn);
    }
    tr->seen.counts = *counts;
    tr->seen.flows = tr->flows;
    tr->seen.failures = tr->failures;
    tr->seen.strays = tr->strays;
    h->transfers = tr->seen;
}
