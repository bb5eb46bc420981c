/* printing.c - see drawbar/printing.h: from what was seen to what a line says. */
#include "drawbar/printing.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "reporting/print_lines.h"
#include "reporting/print_told.h"
#include "reporting/print_troubles.h"

#define APART_MAX TROUBLE_CODES_MAX /* signals without a fixed place; no group has both kinds */
#define SIGNALS_MAX (DBR_SIGNALS_MAX + APART_MAX)
_Static_assert(TOLD_SIGNALS_MAX <= APART_MAX, "room for either kind");

struct dbr_printing {
    const struct dbr_printing_options *options;
    const struct print_form *form;
    struct print_plans *plans;
    bool out_of_memory;
    struct piece process_name; /* of process data that no definition names */
    struct piece ms, mm;       /* units of intervals */
    struct piece interfaces[DBR_INTERFACES_MAX];
    struct shown_signal signals[SIGNALS_MAX];
    struct trouble_texts texts;
    struct told_texts told;
    char words[PRINT_WORDS_MAX * QUOTE_GROWTH + QUOTE_MORE];
    struct print_buffer buffer;
};

static int64_t signed_raw(const struct dbr_signal *signal, uint64_t raw)
{
    unsigned above = 64u - signal->bits;

    return signal->is_signed ? (int64_t)(raw << above) >> above : (int64_t)raw;
}

/* Beyond what 64 bits with a sign hold, or a double: then the number counts, or is none. */
static const struct print_scale *scale_for(const struct signal_plan *plan,
                                           struct dbr_value *value)
{
    static const struct print_scale by_number = {.exact = false, .useful = 0};

    if (value->status == DBR_VALUE_VALID && !isfinite(value->number))
        value->status = DBR_VALUE_OUT_OF_RANGE;
    return value->raw > INT64_MAX && !plan->signal->is_signed ? &by_number : &plan->scale;
}

static void show_signal(struct shown_signal *shown, const struct signal_plan *plan,
                        const uint8_t *data, size_t length)
{
    const struct dbr_signal *signal = plan->signal;

    shown->plan = plan;
    shown->unit = plan->unit;
    shown->spn = plan->spn;
    shown->value = dbr_signal_decode(signal, data, length);
    shown->raw = signed_raw(signal, shown->value.raw);
    shown->scale = scale_for(plan, &shown->value);
    shown->text = (struct piece){"", 0};
    shown->only_text = false;
    for (size_t i = 0; i < signal->state_count; i++)
        if (signal->states[i].raw == shown->value.raw &&
            shown->value.status != DBR_VALUE_ABSENT) {
            shown->text = plan->states[i];
            return;
        }
}

static bool is_shown(const struct dbr_printing *p, const struct signal_plan *plan)
{
    return plan->wanted && (p->options->columns.count == 0 || plan->column >= 0);
}

static void show_signals(struct dbr_printing *p, struct print_line *line,
                         const struct message_plan *plan)
{
    const struct dbr_seen *seen = line->seen;

    for (size_t i = 0; i < plan->signal_count; i++)
        if (is_shown(p, &plan->signals[i]))
            show_signal(&p->signals[line->signal_count++], &plan->signals[i], seen->data,
                        seen->length);
}

static struct piece quoted_words(struct dbr_printing *p, const char *words)
{
    return (struct piece){p->words, p->form->quote(p->words, words)};
}

/* A number that belongs to the command, and not to what is measured. */
static void show_as(struct shown_signal *shown, const struct print_scale *scale, int64_t raw,
                    struct piece unit)
{
    shown->scale = scale;
    shown->unit = unit;
    shown->raw = raw;
    shown->value.number = (double)raw;
}

static void show_process_value(struct dbr_printing *p, struct shown_signal *shown,
                               const struct dbr_process_data *data)
{
    static const struct print_scale whole = {.exact = true, .scale = 1};
    const struct piece none = {"", 0};
    char words[PRINT_WORDS_MAX];

    switch (data->command) {
    case DBR_PROCESS_REQUEST_VALUE:
    case DBR_PROCESS_PEER_CONTROL:
        shown->value.status = DBR_VALUE_ABSENT; /* the bytes are there, but mean nothing */
        break;
    case DBR_PROCESS_TIME_INTERVAL:
        show_as(shown, &whole, data->value, p->ms);
        break;
    case DBR_PROCESS_DISTANCE_INTERVAL:
        show_as(shown, &whole, data->value, p->mm);
        break;
    case DBR_PROCESS_ACKNOWLEDGE:
        show_as(shown, &whole, data->value & 0xFF, none);
        shown->text = quoted_words(
            p, print_acknowledge_words(words, sizeof words, (uint8_t)(data->value & 0xFF)));
        break;
    case DBR_PROCESS_VALUE:
    case DBR_PROCESS_MINIMUM:
    case DBR_PROCESS_MAXIMUM:
    case DBR_PROCESS_CHANGE:
    case DBR_PROCESS_SET_AND_ACKNOWLEDGE:
    case DBR_PROCESS_TECHNICAL:
    case DBR_PROCESS_DEVICE_DESCRIPTOR:
    case DBR_PROCESS_CONTROLLER_STATUS:
    case DBR_PROCESS_CLIENT_TASK:
        break;
    }
}

static bool is_measurement(const struct dbr_process_data *data)
{
    return data->command == DBR_PROCESS_VALUE || data->command == DBR_PROCESS_SET_AND_ACKNOWLEDGE;
}

/* What the value of process data says. False where the options do not want it. */
static bool show_process(struct dbr_printing *p, struct print_line *line,
                         const struct dbr_process_data *data)
{
    const struct signal_plan *plan = print_plan_of_ddi(p->plans, data->ddi);
    struct shown_signal *shown = &p->signals[0];

    if (!plan) {
        p->out_of_memory = true;
        return false;
    }
    if (!is_shown(p, plan) || (p->options->columns.count > 0 && !is_measurement(data)))
        return false;
    *shown = (struct shown_signal){.plan = plan,
                                   .scale = &plan->scale,
                                   .unit = plan->unit,
                                   .value = {.status = DBR_VALUE_VALID},
                                   .raw = data->value,
                                   .text = {"", 0}};
    show_process_value(p, shown, data);
    line->process = data;
    line->signal_count = 1;
    return true;
}

static const char *kind_of(const struct dbr_frame *frame)
{
    if (frame->flags & DBR_FRAME_ERROR)
        return "error";
    if (frame->flags & DBR_FRAME_REMOTE)
        return "remote";
    return frame->flags & DBR_FRAME_FD ? "fd" : "standard";
}

/* What is no whole message is said in words. */
static void add_words(struct dbr_printing *p, struct print_line *line)
{
    const struct dbr_seen *seen = line->seen;
    char words[PRINT_WORDS_MAX];

    if (seen->kind == DBR_SEEN_FRAME) {
        line->words = quoted_words(p, print_frame_words(words, sizeof words, seen->frame));
        line->frame_kind = kind_of(seen->frame);
    } else if (seen->kind == DBR_SEEN_FRAGMENT) {
        line->words = quoted_words(p, "part of a transfer");
    } else if (!seen->data) {
        line->words = quoted_words(p, print_transfer_words(words, sizeof words, seen->transfer));
    }
}

static struct piece interface_piece(struct dbr_printing *p, uint8_t interface)
{
    struct piece *piece = &p->interfaces[interface];

    if (!piece->bytes)
        *piece = print_piece(p->plans, p->options->info->interfaces[interface]);
    if (!piece->bytes)
        p->out_of_memory = true;
    return *piece;
}

/* A message that came whole, and may be decoded. The frames of a fast packet bear its group. */
static bool is_decodable(const struct dbr_seen *seen)
{
    if (seen->kind == DBR_SEEN_FRAGMENT)
        return seen->message && seen->message->packing != DBR_PACKING_FAST;
    return seen->kind == DBR_SEEN_MESSAGE && seen->data;
}

/* The codes of such a list, before what its definition says: they are what people look for. */
static void show_troubles(struct dbr_printing *p, struct print_line *line)
{
    size_t beyond;

    line->signal_count += print_trouble_codes(p->signals + line->signal_count, p->plans, &p->texts,
                                              line->seen, &beyond);
    if (beyond > 0)
        line->words = quoted_words(p, "more trouble codes than a message may hold");
}

static void show_told(struct dbr_printing *p, struct print_line *line)
{
    uint64_t beyond;

    line->signal_count += print_told_signals(p->signals + line->signal_count, p->plans, &p->told,
                                             line->seen, &beyond);
    if (beyond > 0)
        line->words = quoted_words(p, "more fields than can be shown");
}

/* Fills the line with what the message says. False where the options do not want it. */
static bool show_message(struct dbr_printing *p, struct print_line *line,
                         struct dbr_process_data *data)
{
    const struct dbr_seen *seen = line->seen;
    bool all = p->options->only.count == 0 && p->options->columns.count == 0;
    const struct message_plan *plan = seen->message ? print_plan_of(p->plans, seen->message) : NULL;

    if (seen->message && !plan)
        p->out_of_memory = true;
    if (plan)
        line->name = plan->name;
    if (seen->id.pgn == DBR_PGN_PROCESS_DATA && is_decodable(seen) && seen->length > 0) {
        if (!plan)
            line->name = p->process_name;
        line->process_command = print_command_words((enum dbr_process_command)(seen->data[0] & 0xF));
        if (dbr_process_data_read(data, seen->data, seen->length))
            return show_process(p, line, data);
    }
    if (print_is_trouble_list(seen->id.pgn) && is_decodable(seen))
        show_troubles(p, line);
    if (seen->id.pgn == DBR_PGN_DM13 && is_decodable(seen))
        line->signal_count += print_broadcast_order(p->signals, p->plans, &p->texts, seen);
    if (plan && plan->wanted && is_decodable(seen))
        show_signals(p, line, plan);
    if (is_decodable(seen))
        show_told(p, line);
    return all || (plan && plan->wanted) || line->signal_count > 0;
}

bool dbr_printing_add(struct dbr_printing *p, const struct dbr_seen *seen)
{
    struct dbr_process_data data;
    struct print_line line = {.seen = seen,
                              .timed = p->options->info->time_base != DBR_TIME_NONE,
                              .interface = interface_piece(p, seen->interface),
                              .signals = p->signals};
    bool columns = p->options->columns.count > 0;

    if (seen->kind == DBR_SEEN_FRAGMENT && !p->options->fragments)
        return false;
    if (seen->kind == DBR_SEEN_FRAME && (columns || p->options->only.count > 0))
        return false;
    if (seen->kind != DBR_SEEN_FRAME && !show_message(p, &line, &data))
        return false;
    if (columns && line.signal_count == 0)
        return false;
    if (p->out_of_memory)
        return false;
    if (columns) {
        p->form->row(&p->buffer, &line, print_column_count(p->plans));
    } else {
        add_words(p, &line);
        p->form->line(&p->buffer, &line);
    }
    return true;
}

int dbr_printing_flush(struct dbr_printing *p, struct dbr_error *error)
{
    if (p->out_of_memory)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    return print_buffer_flush(&p->buffer, error);
}

struct dbr_printing *dbr_printing_new(FILE *out, const struct dbr_definitions *definitions,
                                      const struct dbr_printing_options *options,
                                      struct dbr_error *error)
{
    struct dbr_printing *p = calloc(1, sizeof *p);

    if (!p) {
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    p->options = options;
    p->form = &print_forms[options->form];
    p->buffer.out = out;
    p->plans = print_plans_new(definitions, options, p->form->quote, error);
    if (!p->plans) {
        dbr_printing_free(p);
        return NULL;
    }
    p->process_name = print_piece(p->plans, "Process data");
    p->ms = print_piece(p->plans, "ms");
    p->mm = print_piece(p->plans, "mm");
    p->out_of_memory = !p->process_name.bytes || !p->ms.bytes || !p->mm.bytes;
    if (p->form->heading)
        p->form->heading(&p->buffer, p->plans);
    return p;
}

void dbr_printing_free(struct dbr_printing *p)
{
    if (!p)
        return;
    print_plans_free(p->plans);
    free(p);
}
