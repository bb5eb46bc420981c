/* print_troubles.c - see print_troubles.h. */
#include "reporting/print_troubles.h"

#include "reporting/clean.h"

static const struct print_scale whole = {.exact = true, .scale = 1};

const char *print_trouble_group(uint32_t pgn)
{
    switch (pgn) {
    case DBR_PGN_DM1:
        return "Active trouble codes";
    case DBR_PGN_DM2:
        return "Previously active trouble codes";
    default:
        return NULL;
    }
}

static struct piece quoted(struct print_plans *plans, char *out, const char *text)
{
    char clean[TROUBLE_TEXT_MAX];

    clean_text(clean, sizeof clean, text);
    return (struct piece){out, print_plans_quote(plans)(out, clean)};
}

static void show_lamp(struct shown_signal *shown, struct print_plans *plans,
                      const struct dbr_lamps *lamps, enum dbr_lamp lamp)
{
    static const enum dbr_value_status statuses[] = {
        [DBR_LAMP_OFF] = DBR_VALUE_VALID,
        [DBR_LAMP_ON] = DBR_VALUE_VALID,
        [DBR_LAMP_ERROR] = DBR_VALUE_ERROR,
        [DBR_LAMP_NOT_AVAILABLE] = DBR_VALUE_NOT_AVAILABLE,
    };
    enum dbr_lamp_state state = lamps->state[lamp];

    shown->value = (struct dbr_value){.status = statuses[state], .number = state, .raw = state};
    shown->raw = (int64_t)state;
    shown->text = print_lamp_text(plans, state, lamps->flash[lamp]);
}

/* What the SPN is, how it fails, how often. */
static void code_words(char *out, size_t size, const struct dbr_definitions *definitions,
                       const struct dbr_trouble_code *code)
{
    const char *words = dbr_spn_words(definitions, code->spn);
    char subject[96] = "SPN not in the definitions", times[40] = "";

    if (dbr_spn_is_address(code->spn))
        snprintf(subject, sizeof subject, "messages of the ECU at address %u",
                 (unsigned)(code->spn - DBR_SPN_ADDRESS_FIRST));
    else if (dbr_spn_is_maker(code->spn))
        snprintf(subject, sizeof subject, "the maker's own SPN");
    if (code->count != DBR_OCCURRENCES_UNKNOWN)
        snprintf(times, sizeof times, ", occurrence count %u", code->count);
    snprintf(out, size, "SPN %u FMI %u: %s: %s%s%s", (unsigned)code->spn, code->fmi,
             words ? words : subject, dbr_fmi_words(code->fmi), times,
             code->older_layout ? ", in an older layout: the SPN is not certain" : "");
}

static void show_code(struct shown_signal *shown, struct print_plans *plans, char *text,
                      const struct dbr_trouble_code *code)
{
    char words[TROUBLE_TEXT_MAX];

    code_words(words, sizeof words, print_plans_definitions(plans), code);
    shown->spn = code->spn;
    shown->value = (struct dbr_value){.number = code->fmi, .raw = code->fmi};
    shown->raw = code->fmi;
    shown->text = quoted(plans, text, words);
}

static struct shown_signal *show_own(struct shown_signal *shown, const struct signal_plan *plan)
{
    *shown = (struct shown_signal){
        .plan = plan, .scale = &whole, .unit = {"", 0}, .text = {"", 0}};
    return shown;
}

static size_t show_codes(struct shown_signal *signals, struct print_plans *plans,
                         struct trouble_texts *texts, struct dbr_trouble_list *list,
                         size_t *beyond)
{
    const struct signal_plan *plan = print_plan_own(plans, PRINT_OWN_CODE);
    struct dbr_trouble_code code;
    size_t count = 0;

    while (dbr_trouble_list_next(list, &code)) {
        const struct print_subject subject = {PRINT_OWN_CODE_NAME, "", code.spn, -1};
        if (!print_plans_want(plans, &subject) || print_column_count(plans) > 0)
            continue;
        if (count == TROUBLE_CODES_MAX) {
            ++*beyond;
            continue;
        }
        show_code(show_own(&signals[count], plan), plans, texts->text[count], &code);
        count++;
    }
    return count;
}

size_t print_trouble_signals(struct shown_signal *signals, struct print_plans *plans,
                             struct trouble_texts *texts, const struct dbr_seen *seen,
                             size_t *beyond)
{
    struct dbr_trouble_list list;
    size_t count = 0;

    if (!dbr_trouble_list_open(&list, seen->data, seen->length))
        return 0;
    for (unsigned lamp = 0; lamp < DBR_LAMPS; lamp++) {
        const struct signal_plan *plan = print_plan_own(plans, lamp);
        if (plan->wanted && (print_column_count(plans) == 0 || plan->column >= 0))
            show_lamp(show_own(&signals[count++], plan), plans, &list.lamps, (enum dbr_lamp)lamp);
    }
    return count + show_codes(signals + count, plans, texts, &list, beyond);
}
