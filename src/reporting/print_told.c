/* print_told.c - see print_told.h. */
#include "reporting/print_told.h"

#include <stdio.h>

#include "text/clean.h"

/* The signal that a field of a group is. */
static enum print_apart apart_of(enum dbr_told_group group, size_t field)
{
    static const enum print_apart first[DBR_TOLD_GROUPS] = {
        [DBR_TOLD_ECU] = PRINT_APART_ECU,
        [DBR_TOLD_COMPONENT] = PRINT_APART_COMPONENT,
        [DBR_TOLD_SOFTWARE] = PRINT_APART_SOFTWARE,
        [DBR_TOLD_PRODUCT] = PRINT_APART_PRODUCT,
        [DBR_TOLD_FUNCTIONALITIES] = PRINT_APART_FUNCTIONALITY,
        [DBR_TOLD_INFORMATION] = PRINT_APART_INFORMATION,
    };
    bool alike = group == DBR_TOLD_SOFTWARE || group == DBR_TOLD_FUNCTIONALITIES;

    return (enum print_apart)((size_t)first[group] + (alike ? 0 : field));
}

static bool is_wanted(const struct print_plans *plans, const struct signal_plan *plan)
{
    return plan->wanted && (print_column_count(plans) == 0 || plan->column >= 0);
}

/* A text, where there is one and it is wanted. */
static size_t show(struct shown_signal *shown, struct print_plans *plans, char *out,
                   enum print_apart apart, const char *text)
{
    const struct signal_plan *plan = print_plan_apart(plans, apart);
    char clean[DBR_TOLD_TEXT_MAX];

    if (text[0] == '\0' || !is_wanted(plans, plan))
        return 0;
    clean_text(clean, sizeof clean, text);
    *shown = (struct shown_signal){.plan = plan,
                                   .spn = plan->spn,
                                   .value = {.status = DBR_VALUE_VALID},
                                   .text = {out, print_plans_quote(plans)(out, clean)},
                                   .only_text = true};
    return 1;
}

static const char *ability_words(char *out, size_t size, const struct dbr_functionality *f)
{
    const char *words = dbr_functionality_words(f->code);

    if (words)
        snprintf(out, size, "%s, generation %u", words, f->generation);
    else
        snprintf(out, size, "functionality %u, generation %u", f->code, f->generation);
    return out;
}

size_t print_told_signals(struct shown_signal *signals, struct print_plans *plans,
                          struct told_texts *texts, const struct dbr_seen *seen,
                          uint64_t *beyond)
{
    enum dbr_told_group group = dbr_told_group_of(seen->id.pgn);
    struct dbr_told *told = &texts->told;
    char words[DBR_TOLD_TEXT_MAX];
    size_t count = 0;

    *beyond = 0;
    if (group == DBR_TOLD_GROUPS || !dbr_told_read(told, group, seen->data, seen->length))
        return 0;
    for (size_t i = 0; i < told->text_count; i++)
        count += show(&signals[count], plans, texts->text[count], apart_of(group, i),
                      told->texts[i]);
    for (size_t i = 0; i < told->functionality_count && count < TOLD_SIGNALS_MAX; i++)
        count += show(&signals[count], plans, texts->text[count], apart_of(group, i),
                      ability_words(words, sizeof words, &told->functionalities[i]));
    *beyond = told->beyond;
    return count;
}
