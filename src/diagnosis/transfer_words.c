/* transfer_words.c - see transfer_words.h. */
#include "diagnosis/transfer_words.h"

#include "diagnosis/wording.h"
#include "drawbar/can_id.h"

bool transfer_is_refusal(const struct dbr_failed_transfers *failed)
{
    const struct dbr_transfer *t = &failed->first;
    return t->end == DBR_TRANSFER_ABORTED && t->by_receiver && t->received == 0;
}

const char *word_group(struct findings *f, uint32_t pgn, const struct dbr_message *message)
{
    return message ? findings_text(f, "%.80s (%u)", message->name, pgn)
                   : findings_text(f, "group %u", pgn);
}

const char *word_receiver(struct findings *f, const struct dbr_transfer *t)
{
    return t->destination == DBR_ADDRESS_GLOBAL ? "all"
                                                : word_ecu(f, t->interface, t->destination);
}

const char *word_reason(struct findings *f, const struct dbr_transfer *t)
{
    const char *words =
        dbr_abort_reason_words(t->abort_reason, t->carrier == DBR_CARRIER_EXTENDED);

    return words ? findings_text(f, "abort reason %u: %s", t->abort_reason, words)
                 : findings_text(f, "abort reason %u, which no standard defines", t->abort_reason);
}

static const char *timed_out_words(struct findings *f, const struct dbr_transfer *t,
                                   const char *group)
{
    const char *originator = word_ecu(f, t->interface, t->source);
    const char *receiver = word_receiver(f, t);

    switch (t->timer) {
    case DBR_TIMER_T3:
        return t->received == 0
                   ? findings_text(f, "%s did not answer %s, which has %s for it", receiver,
                                   originator, group)
                   : findings_text(f, "%s stopped answering %s amid %s", receiver, originator,
                                   group);
    case DBR_TIMER_T4:
        return findings_text(f, "%s let %s wait with %s, and never went on", receiver, originator,
                             group);
    case DBR_TIMER_T1:
    case DBR_TIMER_T2:
    case DBR_TIMER_NONE:
        break;
    }
    return findings_text(f, "%s from %s to %s stayed incomplete", group, originator, receiver);
}

const char *word_transfer_failure(struct findings *f, const struct dbr_failed_transfers *failed)
{
    const struct dbr_transfer *t = &failed->first;
    const char *group = word_group(f, t->pgn, failed->message);
    const char *originator = word_ecu(f, t->interface, t->source);
    const char *receiver = word_receiver(f, t);

    if (t->end == DBR_TRANSFER_TIMED_OUT)
        return timed_out_words(f, t, group);
    if (transfer_is_refusal(failed))
        return findings_text(f, "%s refused to take %s from %s", receiver, group, originator);
    if (t->end == DBR_TRANSFER_ABORTED)
        return findings_text(f, "%s from %s to %s was given up by %s", group, originator, receiver,
                             t->by_receiver ? "the receiver" : "the sender");
    if (t->end == DBR_TRANSFER_REPLACED)
        return findings_text(f, "%s began anew with %s to %s before it was through", originator,
                             group, receiver);
    return findings_text(f, "%s from %s to %s went against the rules of the protocol", group,
                         originator, receiver);
}

static const char *word_when(struct findings *f, const struct dbr_failed_transfers *failed)
{
    unsigned long long count = failed->count;

    if (!f->history->timed)
        return count == 1 ? "once" : findings_text(f, "%llu times", count);
    if (count == 1)
        return findings_text(f, "once, at %s", word_time(f, failed->first_ns));
    return findings_text(f, "%llu times, first at %s, last at %s", count,
                         word_time(f, failed->first_ns), word_time(f, failed->last_ns));
}

static void tell_how_often(struct findings *f, struct found *found,
                           const struct dbr_failed_transfers *failed)
{
    const struct dbr_transfer_flow *flow = &f->history->transfers.flows[failed->flow];
    const char *when = word_when(f, failed);

    if (flow->complete == 0)
        found_evidence(f, found, "%s; this message never came through between the two", when);
    else
        found_evidence(f, found, "%s; else this message came through between the two, %llu times",
                       when, (unsigned long long)flow->complete);
}

static void tell_how_far(struct findings *f, struct found *found, const struct dbr_transfer *t)
{
    found_evidence(f, found, "%s%s of %u bytes in %u packets, of which %u came",
                   found->seen.count > 1 ? "the first: " : "", dbr_carrier_name(t->carrier),
                   t->size, t->packets, t->received);
    if (t->announcements > 1)
        found_evidence(f, found, "announced %u times before anything came", t->announcements);
    if (t->received > 0 && t->first_missing > 0)
        found_evidence(f, found, "the first missing packet is number %u%s", t->first_missing,
                       t->received >= t->first_missing ? ", later ones came" : "");
}

static const char *word_breach(struct findings *f, const struct dbr_transfer *t)
{
    switch (t->breach) {
    case DBR_BREACH_SIZE:
        return findings_text(f, "%u bytes were announced in %u packets, which does not fit",
                             t->size, t->packets);
    case DBR_BREACH_GRANT:
        return findings_text(f, "%s granted %u packets from number %u on of a message that has %u: "
                                "the grant is forged, or meant for another message",
                             word_receiver(f, t), t->breach_count, t->breach_packet, t->packets);
    case DBR_BREACH_DIFFERS:
        return findings_text(f, "packet %u came twice with different content: two senders under "
                                "one address, or a faulty one", t->breach_packet);
    case DBR_BREACH_ACKNOWLEDGED:
        return findings_text(f, "%s acknowledged what it had not got (%u bytes)",
                             word_receiver(f, t), t->breach_count);
    case DBR_BREACH_NONE:
        break;
    }
    return NULL;
}

static const char *word_after(struct findings *f, int64_t ns)
{
    return f->history->timed ? findings_text(f, " after %.0f ms", (double)ns / 1e6) : "";
}

static void tell_why(struct findings *f, struct found *found, const struct dbr_transfer *t)
{
    const char *breach = word_breach(f, t);

    if (t->end == DBR_TRANSFER_ABORTED)
        found_evidence(f, found, "%s gave up%s; %s",
                       t->by_receiver ? word_receiver(f, t) : word_ecu(f, t->interface, t->source),
                       word_after(f, t->end_ns - t->start_ns), word_reason(f, t));
    if (t->end == DBR_TRANSFER_TIMED_OUT)
        found_evidence(f, found, "%s", dbr_transfer_timer_words(t->timer));
    if (breach)
        found_evidence(f, found, "%s", breach);
    if (t->ungranted > 0)
        found_evidence(f, found, "%u data packets came that were not granted", t->ungranted);
}

/* What a recorder that loses frames would leave just the same. */
static void tell_doubt(struct findings *f, struct found *found, const struct dbr_transfer *t)
{
    bool silent_end = t->end == DBR_TRANSFER_TIMED_OUT || t->end == DBR_TRANSFER_REPLACED;

    if (silent_end && t->received > 0)
        found_evidence(f, found, "frames that the recorder lost would look the same");
    if (t->end == DBR_TRANSFER_ABORTED && t->breach == DBR_BREACH_NONE && t->by_receiver &&
        (t->abort_reason == 1 || t->abort_reason == 2))
        found_evidence(f, found, "a reason of that kind may pass: it may work when tried again");
}

static const char *word_stray(const struct dbr_stray_flow *s)
{
    switch (s->first.control) {
    case 17:
    case 21:
        return "a grant";
    case 19:
    case 23:
        return "an acknowledgement";
    case 255:
        return "an abort";
    default:
        return "a control message";
    }
}

/* Control messages of others, or of another message, between the same two. */
static void tell_strays(struct findings *f, struct found *found, const struct dbr_transfer *t)
{
    const struct dbr_transfers *all = &f->history->transfers;

    for (size_t i = 0; i < all->stray_count; i++) {
        const struct dbr_stray_flow *s = &all->strays[i];
        if (s->first.interface != t->interface || s->first.source != t->destination ||
            s->first.destination != t->source)
            continue;
        found_evidence(f, found, "%s sent it %s for %s without a request, %llu times from %s on",
                       word_ecu(f, s->first.interface, s->first.source), word_stray(s),
                       word_group(f, s->first.pgn, s->message), (unsigned long long)s->count,
                       word_time(f, s->first.at_ns));
    }
}

void tell_transfer_failure(struct findings *f, struct found *found,
                           const struct dbr_failed_transfers *failed)
{
    tell_how_often(f, found, failed);
    tell_how_far(f, found, &failed->first);
    tell_why(f, found, &failed->first);
    tell_strays(f, found, &failed->first);
    tell_doubt(f, found, &failed->first);
}
