/* print_plan.c - see print_plan.h. */
#include "reporting/print_plan.h"

#include <stdlib.h>
#include <string.h>

#include "drawbar/ddi.h"
#include "text/clean.h"

#define DDI_COUNT 65536u
#define HEADING_MAX 1024u

struct block {
    struct block *next;
    max_align_t memory[];
};

struct column {
    const char *name, *unit;
    struct piece heading;
};

struct print_plans {
    print_quote *quote;
    const struct dbr_definitions *definitions;
    struct signal_plan apart[PRINT_APART_COUNT]; /* without a fixed place */
    struct print_choice only, columns;
    size_t column_count;
    struct column column[DBR_PRINT_COLUMNS_MAX];
    bool too_many_columns;
    struct block *blocks; /* all memory of all plans */
    size_t slot_count;    /* of the hash table from definition to plan; a power of two */
    struct message_plan **slots;
    struct signal_plan *ddis[DDI_COUNT];
};

static void *take(struct print_plans *p, size_t size)
{
    struct block *block = calloc(1, sizeof *block + size);

    if (!block)
        return NULL;
    block->next = p->blocks;
    p->blocks = block;
    return block->memory;
}

struct piece print_piece(struct print_plans *p, const char *text)
{
    size_t size = strlen(text) * CLEAN_GROWTH + 1;

    if (!text[0])
        return (struct piece){"", 0};
    char *clean = malloc(size);
    char *quoted = take(p, size * QUOTE_GROWTH + QUOTE_MORE);
    struct piece piece = {quoted, 0};
    if (clean && quoted)
        piece.length = p->quote(quoted, clean_text(clean, size, text));
    else
        piece.bytes = NULL;
    free(clean);
    return piece;
}

/* The column of a signal: that of its name and unit; -1. */
static int find_column(const struct print_plans *p, const struct print_subject *subject)
{
    for (size_t i = 0; i < p->column_count; i++)
        if (strcmp(p->column[i].name, subject->name) == 0 &&
            strcmp(p->column[i].unit, subject->unit) == 0)
            return (int)i;
    return -1;
}

static bool fill_signal(struct print_plans *p, struct signal_plan *plan,
                        const struct print_subject *subject)
{
    plan->spn = subject->spn;
    plan->wanted = print_choice_means(&p->only, subject);
    plan->column = find_column(p, subject);
    plan->name = print_piece(p, subject->name);
    plan->unit = print_piece(p, subject->unit);
    return plan->name.bytes && plan->unit.bytes;
}

static bool plan_signal(struct print_plans *p, struct signal_plan *plan,
                        const struct dbr_signal *signal)
{
    const struct print_subject subject = {signal->name, signal->unit, signal->spn, -1};

    plan->signal = signal;
    plan->scale = print_scale_make(signal->scale, signal->offset);
    plan->states = take(p, (signal->state_count + 1) * sizeof *plan->states);
    for (size_t i = 0; plan->states && i < signal->state_count; i++) {
        plan->states[i] = print_piece(p, signal->states[i].text);
        if (!plan->states[i].bytes)
            return false;
    }
    return plan->states && fill_signal(p, plan, &subject);
}

static struct message_plan *plan_message(struct print_plans *p, const struct dbr_message *message)
{
    struct message_plan *plan = take(p, sizeof *plan);

    if (!plan)
        return NULL;
    plan->message = message;
    plan->name = print_piece(p, message->name);
    plan->signal_count = message->signal_count;
    plan->signals = take(p, (message->signal_count + 1) * sizeof *plan->signals);
    plan->wanted = p->only.terms->count == 0 && p->column_count == 0;
    if (!plan->name.bytes || !plan->signals)
        return NULL;
    for (size_t i = 0; i < message->signal_count; i++) {
        struct signal_plan *signal = &plan->signals[i];
        if (!plan_signal(p, signal, &message->signals[i]))
            return NULL;
        plan->wanted = plan->wanted ||
                       (signal->wanted && (p->column_count == 0 || signal->column >= 0));
    }
    return plan;
}

const struct message_plan *print_plan_of(struct print_plans *p, const struct dbr_message *message)
{
    uint64_t mixed = (uint64_t)(uintptr_t)message * UINT64_C(0x9E3779B97F4A7C15);
    size_t slot = (size_t)(mixed >> 32) & (p->slot_count - 1);

    while (p->slots[slot] && p->slots[slot]->message != message)
        slot = (slot + 1) & (p->slot_count - 1);
    if (!p->slots[slot])
        p->slots[slot] = plan_message(p, message);
    return p->slots[slot];
}

const struct signal_plan *print_plan_of_ddi(struct print_plans *p, uint16_t number)
{
    const struct dbr_ddi *ddi = dbr_ddi_find(number);
    char name[16];

    if (p->ddis[number])
        return p->ddis[number];
    struct signal_plan *plan = take(p, sizeof *plan);
    snprintf(name, sizeof name, "DDI %u", (unsigned)number);
    const struct print_subject subject = {ddi ? ddi->name : name, ddi ? ddi->unit : "", 0, number};
    if (!plan || !fill_signal(p, plan, &subject))
        return NULL;
    plan->scale = print_scale_make(ddi ? ddi->resolution : 1.0, 0.0);
    return p->ddis[number] = plan;
}

static void add_column(struct print_plans *p, const struct print_subject *subject)
{
    char text[HEADING_MAX];

    if (find_column(p, subject) >= 0)
        return;
    if (p->column_count == DBR_PRINT_COLUMNS_MAX) {
        p->too_many_columns = true;
        return;
    }
    snprintf(text, sizeof text, subject->unit[0] ? "%s [%s]" : "%s%s", subject->name,
             subject->unit);
    struct column *column = &p->column[p->column_count++];
    *column = (struct column){subject->name, subject->unit, print_piece(p, text)};
}

struct column_search {
    struct print_plans *plans;
    size_t term;
};

static bool add_where_meant(void *context, const struct print_subject *subject)
{
    struct column_search *search = context;

    if (print_term_means(&search->plans->columns, search->term, subject))
        add_column(search->plans, subject);
    return true;
}

/* A DDI that the dictionary lacks has a column under its number. */
static void add_unknown_ddi(struct print_plans *p, const char *term)
{
    int32_t ddi = print_term_ddi(term);
    char *name = take(p, sizeof "DDI 65535");

    if (ddi < 0 || dbr_ddi_find((uint16_t)ddi) || !name)
        return;
    snprintf(name, sizeof "DDI 65535", "DDI %u", (unsigned)ddi & UINT16_MAX);
    add_column(p, &(struct print_subject){name, "", 0, ddi});
}

/* Columns in the order of the terms, and where a term means several, of the definitions. */
static int make_columns(struct print_plans *p, const struct dbr_definitions *definitions,
                        struct dbr_error *error)
{
    for (size_t i = 0; i < p->columns.terms->count; i++) {
        struct column_search search = {p, i};
        print_each_subject(definitions, add_where_meant, &search);
        add_unknown_ddi(p, p->columns.terms->items[i]);
    }
    for (size_t i = 0; i < p->column_count; i++)
        if (!p->column[i].heading.bytes)
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    if (!p->too_many_columns)
        return 0;
    return dbr_error_set(error, DBR_ERROR_USAGE, "more than %u columns; name signals more closely",
                         DBR_PRINT_COLUMNS_MAX);
}

static int plan_apart(struct print_plans *p, struct dbr_error *error)
{
    for (size_t i = 0; i < PRINT_APART_COUNT; i++)
        if (!fill_signal(p, &p->apart[i], &print_apart_subjects[i]))
            return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    return 0;
}

const struct signal_plan *print_plan_apart(const struct print_plans *p, enum print_apart apart)
{
    return &p->apart[apart];
}

bool print_plans_want(const struct print_plans *p, const struct print_subject *subject)
{
    return print_choice_means(&p->only, subject);
}

print_quote *print_plans_quote(const struct print_plans *p)
{
    return p->quote;
}

const struct dbr_definitions *print_plans_definitions(const struct print_plans *p)
{
    return p->definitions;
}

struct print_plans *print_plans_new(const struct dbr_definitions *definitions,
                                    const struct dbr_printing_options *options,
                                    print_quote *quote, struct dbr_error *error)
{
    struct print_plans *p = calloc(1, sizeof *p);

    if (p) {
        p->quote = quote;
        p->definitions = definitions;
        p->slot_count = 64;
        while (p->slot_count < 2 * dbr_definitions_count(definitions))
            p->slot_count *= 2;
        p->slots = calloc(p->slot_count, sizeof(struct message_plan *));
    }
    if (!p || !p->slots) {
        print_plans_free(p);
        dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        return NULL;
    }
    if (print_choice_make(&p->only, &options->only, definitions, error) < 0 ||
        print_choice_make(&p->columns, &options->columns, definitions, error) < 0 ||
        make_columns(p, definitions, error) < 0 || plan_apart(p, error) < 0) {
        print_plans_free(p);
        return NULL;
    }
    return p;
}

size_t print_column_count(const struct print_plans *p)
{
    return p->column_count;
}

struct piece print_column_heading(const struct print_plans *p, size_t index)
{
    return p->column[index].heading;
}

void print_plans_free(struct print_plans *p)
{
    if (!p)
        return;
    while (p->blocks) {
        struct block *next = p->blocks->next;
        free(p->blocks);
        p->blocks = next;
    }
    free(p->slots);
    free(p);
}
