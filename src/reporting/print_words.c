/* print_words.c - frames that are no messages, failed transfers, process data: in words. */
#include <stdarg.h>
#include <string.h>

#include "drawbar/error_frame.h"
#include "reporting/print_lines.h"

/* Adds to a text, after ", " where it has begun. */
static void add(char *out, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void add(char *out, size_t size, const char *format, ...)
{
    size_t used = strlen(out);
    va_list arguments;

    if (used > 0 && used + 2 < size) {
        memcpy(out + used, ", ", 3);
        used += 2;
    }
    va_start(arguments, format);
    vsnprintf(out + used, size - used, format, arguments);
    va_end(arguments);
}

/* What is told by the class alone; the others have words of their own below. */
static void add_classes(char *out, size_t size, const struct dbr_error_report *r)
{
    static const struct {
        uint32_t class;
        const char *words;
    } rows[] = {
        {DBR_ERROR_CLASS_BUS_OFF, "bus-off"},
        {DBR_ERROR_CLASS_RESTARTED, "controller restarted"},
        {DBR_ERROR_CLASS_TX_TIMEOUT, "transmission timed out"},
        {DBR_ERROR_CLASS_LOST_ARBITRATION, "arbitration lost"},
        {DBR_ERROR_CLASS_BUS_ERROR, "bus error"},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (r->classes & rows[i].class)
            add(out, size, "%s", rows[i].words);
}

static void add_state(char *out, size_t size, const struct dbr_error_report *r)
{
    static const char *const states[] = {
        [DBR_CONTROLLER_ACTIVE] = "error-active",
        [DBR_CONTROLLER_WARNING] = "error-warning",
        [DBR_CONTROLLER_PASSIVE] = "error-passive",
    };

    if (r->state == DBR_CONTROLLER_ACTIVE || r->state == DBR_CONTROLLER_WARNING ||
        r->state == DBR_CONTROLLER_PASSIVE)
        add(out, size, "%s", states[r->state]);
    if (r->overflow)
        add(out, size, "controller lost frames");
}

static void add_error(char *out, size_t size, const struct dbr_frame *frame)
{
    struct dbr_error_report r = dbr_error_frame_read(frame);
    const char *place = dbr_error_place_words(r.place);
    const char *wires = dbr_error_transceiver_words(r.transceiver);

    add_classes(out, size, &r);
    add_state(out, size, &r);
    for (unsigned kind = 0; kind < DBR_ERROR_KIND_COUNT; kind++)
        if (r.kinds & 1u << kind)
            add(out, size, "%s", dbr_error_kind_words((enum dbr_error_kind)kind));
    if (place)
        add(out, size, "in the %s", place);
    if (r.on_transmission)
        add(out, size, "while sending");
    if (wires)
        add(out, size, "%s", wires);
    if (r.counters_present)
        add(out, size, "transmit errors %u, receive errors %u", r.transmit_errors,
            r.receive_errors);
    if (!out[0])
        add(out, size, "no class of error given");
}

const char *print_frame_words(char *out, size_t size, const struct dbr_frame *frame)
{
    char what[PRINT_WORDS_MAX] = "";

    if (frame->flags & DBR_FRAME_ERROR) {
        add_error(what, sizeof what, frame);
        snprintf(out, size, "error frame: %s", what);
    } else if (frame->flags & DBR_FRAME_REMOTE) {
        snprintf(out, size, "remote frame, asks for %u bytes", frame->length);
    } else if (frame->flags & DBR_FRAME_FD) {
        snprintf(out, size, "FD frame");
    } else {
        snprintf(out, size, "11-bit frame");
    }
    return out;
}

static void add_reason(char *out, size_t size, const struct dbr_transfer *t)
{
    const char *reason = dbr_abort_reason_words(t->abort_reason,
                                                t->carrier == DBR_CARRIER_EXTENDED);

    switch (t->end) {
    case DBR_TRANSFER_ABORTED:
        add(out, size, "aborted by the %s, reason %u: %s", t->by_receiver ? "receiver" : "sender",
            t->abort_reason, reason ? reason : "in no standard");
        return;
    case DBR_TRANSFER_TIMED_OUT:
        add(out, size, "timed out (%s)", dbr_transfer_timer_words(t->timer));
        return;
    case DBR_TRANSFER_COMPLETE:
        add(out, size, "complete, but beyond the memory for payloads");
        return;
    case DBR_TRANSFER_REPLACED:
    case DBR_TRANSFER_BROKEN:
    case DBR_TRANSFER_UNFINISHED:
    case DBR_TRANSFER_UNRECORDED:
        break;
    }
    add(out, size, "%s", dbr_transfer_end_words(t->end));
}

const char *print_transfer_words(char *out, size_t size, const struct dbr_transfer *t)
{
    out[0] = '\0';
    add(out, size, "transfer by %s", dbr_carrier_name(t->carrier));
    add_reason(out, size, t);
    add(out, size, "%u of %u packets", t->received, t->packets);
    if (t->first_missing > 0)
        add(out, size, "the first missing is %u", t->first_missing);
    return out;
}

/* ISO 11783-10 annex B. */
const char *print_command_words(enum dbr_process_command command)
{
    static const char *const words[16] = {
        [DBR_PROCESS_TECHNICAL] = "technical capabilities",
        [DBR_PROCESS_DEVICE_DESCRIPTOR] = "device descriptor",
        [DBR_PROCESS_REQUEST_VALUE] = "request value",
        [DBR_PROCESS_VALUE] = "value",
        [DBR_PROCESS_TIME_INTERVAL] = "measure every time interval",
        [DBR_PROCESS_DISTANCE_INTERVAL] = "measure every distance",
        [DBR_PROCESS_MINIMUM] = "measure above minimum",
        [DBR_PROCESS_MAXIMUM] = "measure below maximum",
        [DBR_PROCESS_CHANGE] = "measure on change",
        [DBR_PROCESS_PEER_CONTROL] = "peer control assignment",
        [DBR_PROCESS_SET_AND_ACKNOWLEDGE] = "set value and acknowledge",
        [DBR_PROCESS_ACKNOWLEDGE] = "acknowledge",
        [DBR_PROCESS_CONTROLLER_STATUS] = "task controller status",
        [DBR_PROCESS_CLIENT_TASK] = "client task",
    };

    return words[command & 0xF] ? words[command & 0xF] : "reserved command";
}

/* Error bits of a process data acknowledge, ISO 11783-10 annex B. */
const char *print_acknowledge_words(char *out, size_t size, uint8_t errors)
{
    static const char *const words[8] = {
        "command not supported", "invalid element",  "DDI not supported by element",
        "trigger not supported", "not settable",     "invalid interval or threshold",
        "value does not conform to DDI", "value outside operational range"};

    out[0] = '\0';
    for (unsigned bit = 0; bit < 8; bit++)
        if (errors & 1u << bit)
            add(out, size, "%s", words[bit]);
    if (!out[0])
        add(out, size, "no error");
    return out;
}
