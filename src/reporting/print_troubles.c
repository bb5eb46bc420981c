/* print_troubles.c - see print_troubles.h. */
#include "reporting/print_troubles.h"

#include "text/clean.h"

bool print_is_trouble_list(uint32_t pgn)
{
    return pgn == DBR_PGN_DM1 || pgn == DBR_PGN_DM2;
}

static struct piece quoted(struct print_plans *plans, char *out, const char *text)
{
    char clean[TROUBLE_TEXT_MAX];

    clean_text(clean, sizeof clean, text);
    return (struct piece){out, print_plans_quote(plans)(out, clean)};
}

/* What the SPN is, how it fails, how often. */
static void code_words(char *out, size_t size, const struct dbr_definitions *definitions,
                       const struct dbr_trouble_code *code)
{
    const char *words = code->older_layout ? NULL : dbr_spn_words(definitions, code->spn);
    char subject[96] = "SPN not in the definitions", times[40] = "";

    if (code->older_layout)
        snprintf(subject, sizeof subject, "in an older layout, so that the SPN is not certain");
    else if (dbr_spn_is_address(code->spn))
        snprintf(subject, sizeof subject, "messages of the ECU at address %u",
                 (unsigned)(code->spn - DBR_SPN_ADDRESS_FIRST));
    else if (dbr_spn_is_maker(code->spn))
        snprintf(subject, sizeof subject, "the maker's own SPN");
    if (code->count != DBR_OCCURRENCES_UNKNOWN)
        snprintf(times, sizeof times, ", occurrence count %u", code->count);
    snprintf(out, size, "SPN %u FMI %u: %s: %s%s", (unsigned)code->spn, code->fmi,
             words ? words : subject, dbr_fmi_words(code->fmi), times);
}

static void show_code(struct shown_signal *shown, struct print_plans *plans, char *text,
                      const struct dbr_trouble_code *code)
{
    static const struct print_scale whole = {.exact = true, .scale = 1};
    char words[TROUBLE_TEXT_MAX];

    code_words(words, sizeof words, print_plans_definitions(plans), code);
    *shown = (struct shown_signal){.plan = print_plan_apart(plans, PRINT_APART_CODE),
                                   .scale = &whole,
                                   .unit = {"", 0},
                                   .spn = code->spn,
                                   .value = {.number = code->fmi, .raw = code->fmi},
                                   .raw = code->fmi,
                                   .text = quoted(plans, text, words)};
}

static void show_words(struct shown_signal *shown, struct print_plans *plans, char *text,
                       enum print_apart apart, const char *words)
{
    *shown = (struct shown_signal){.plan = print_plan_apart(plans, apart),
                                   .value = {.status = DBR_VALUE_VALID},
                                   .text = quoted(plans, text, words),
                                   .only_text = true};
}

size_t print_trouble_codes(struct shown_signal *signals, struct print_plans *plans,
                           struct trouble_texts *texts, const struct dbr_seen *seen,
                           size_t *beyond)
{
    struct dbr_trouble_list list;
    struct dbr_trouble_code code;
    bool columns = print_column_count(plans) > 0;
    size_t count = 0;

    *beyond = 0;
    if ((columns && print_plan_apart(plans, PRINT_APART_CODE)->column < 0) ||
        !dbr_trouble_list_open(&list, seen->data, seen->length))
        return 0;
    while (dbr_trouble_list_next(&list, &code)) {
        struct print_subject subject = print_apart_subjects[PRINT_APART_CODE];
        subject.spn = code.spn;
        if (!print_plans_want(plans, &subject))
            continue;
        if (count == TROUBLE_CODES_MAX) {
            ++*beyond;
            continue;
        }
        show_code(&signals[count], plans, texts->text[count], &code);
        count++;
    }
    if (list.told_none && count == 0 && print_plan_apart(plans, PRINT_APART_CODE)->wanted)
        show_words(&signals[count++], plans, texts->text[0], PRINT_APART_CODE, "none");
    return count;
}

size_t print_broadcast_order(struct shown_signal *signal, struct print_plans *plans,
                             struct trouble_texts *texts, const struct dbr_seen *seen)
{
    static const char *const words[] = {[DBR_BROADCAST_STOP] = "stop",
                                        [DBR_BROADCAST_START] = "start",
                                        [DBR_BROADCAST_HOLD] = "stay as you are"};
    const struct signal_plan *plan = print_plan_apart(plans, PRINT_APART_ORDER);
    enum dbr_broadcast_order order = dbr_broadcast_order_read(seen->data, seen->length);

    if (order == DBR_BROADCAST_NOTHING || !plan->wanted ||
        (print_column_count(plans) > 0 && plan->column < 0))
        return 0;
    show_words(signal, plans, texts->text[0], PRINT_APART_ORDER, words[order]);
    return 1;
}
