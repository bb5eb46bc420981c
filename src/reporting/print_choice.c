/* print_choice.c - see print_choice.h. */
#include "reporting/print_choice.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "drawbar/ddi.h"

/* Of ISO 11783-12 and SAE J1939-71; the SPNs that the facts have, the others bear none. */
#define APART(spn, name) {name, "", spn, -1}
const struct print_subject print_apart_subjects[PRINT_APART_COUNT] = {
    [PRINT_APART_CODE] = APART(0, "Trouble code"), /* each has an SPN of its own */
    [PRINT_APART_ORDER] = APART(0, "Broadcast order"),
    [PRINT_APART_ECU + DBR_ECU_PART_NUMBER] = APART(0, "ECU part number"),
    [PRINT_APART_ECU + DBR_ECU_SERIAL] = APART(0, "ECU serial number"),
    [PRINT_APART_ECU + DBR_ECU_LOCATION] = APART(0, "ECU location"),
    [PRINT_APART_ECU + DBR_ECU_TYPE] = APART(0, "ECU type"),
    [PRINT_APART_ECU + DBR_ECU_MAKER] = APART(0, "ECU maker"),
    [PRINT_APART_ECU + DBR_ECU_HARDWARE] = APART(0, "ECU hardware"),
    [PRINT_APART_COMPONENT + DBR_COMPONENT_MAKE] = APART(586, "Component make"),
    [PRINT_APART_COMPONENT + DBR_COMPONENT_MODEL] = APART(587, "Component model"),
    [PRINT_APART_COMPONENT + DBR_COMPONENT_SERIAL] = APART(588, "Component serial number"),
    [PRINT_APART_COMPONENT + DBR_COMPONENT_UNIT] = APART(233, "Component unit number"),
    [PRINT_APART_PRODUCT + DBR_PRODUCT_CODE] = APART(0, "Product identification code"),
    [PRINT_APART_PRODUCT + DBR_PRODUCT_BRAND] = APART(0, "Product brand"),
    [PRINT_APART_PRODUCT + DBR_PRODUCT_MODEL] = APART(0, "Product model"),
    [PRINT_APART_INFORMATION + DBR_INFORMATION_MODEL] = APART(0, "Product information: model"),
    [PRINT_APART_INFORMATION + DBR_INFORMATION_SOFTWARE] =
        APART(0, "Product information: software"),
    [PRINT_APART_INFORMATION + DBR_INFORMATION_VERSION] =
        APART(0, "Product information: model version"),
    [PRINT_APART_INFORMATION + DBR_INFORMATION_SERIAL] =
        APART(0, "Product information: serial number"),
    [PRINT_APART_SOFTWARE] = APART(234, "Software identification"),
    [PRINT_APART_FUNCTIONALITY] = APART(0, "Functionality"),
};

static bool contains(const char *name, const char *part)
{
    size_t length = strlen(part);

    for (; *name; name++)
        if (strncasecmp(name, part, length) == 0)
            return true;
    return false;
}

static bool is_number(const char *term)
{
    return term[strspn(term, "0123456789")] == '\0';
}

int32_t print_term_ddi(const char *term)
{
    char *end;

    if (strncasecmp(term, "ddi ", 4) != 0 || !is_number(term + 4))
        return -1;
    unsigned long number = strtoul(term + 4, &end, 10);
    return end > term + 4 && number <= UINT16_MAX ? (int32_t)number : -1;
}

static bool term_means(const char *term, bool whole, const struct print_subject *subject)
{
    int32_t ddi = print_term_ddi(term);

    if (ddi >= 0)
        return ddi == subject->ddi;
    if (is_number(term))
        return subject->spn != 0 && strtoul(term, NULL, 10) == subject->spn;
    return whole ? strcasecmp(term, subject->name) == 0 : contains(subject->name, term);
}

bool print_term_means(const struct print_choice *choice, size_t index,
                      const struct print_subject *subject)
{
    return term_means(choice->terms->items[index], choice->whole[index], subject);
}

bool print_choice_means(const struct print_choice *choice, const struct print_subject *subject)
{
    for (size_t i = 0; i < choice->terms->count; i++)
        if (print_term_means(choice, i, subject))
            return true;
    return choice->terms->count == 0;
}

void print_each_subject(const struct dbr_definitions *definitions,
                        bool (*each)(void *context, const struct print_subject *subject),
                        void *context)
{
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++) {
        const struct dbr_message *message = dbr_definitions_at(definitions, i);
        for (size_t k = 0; k < message->signal_count; k++) {
            const struct dbr_signal *signal = &message->signals[k];
            const struct print_subject subject = {signal->name, signal->unit, signal->spn, -1};
            if (!each(context, &subject))
                return;
        }
    }
    for (size_t i = 0; i < PRINT_APART_COUNT; i++)
        if (!each(context, &print_apart_subjects[i]))
            return;
    for (size_t i = 0; i < dbr_ddi_count(); i++) {
        const struct dbr_ddi *ddi = dbr_ddi_at(i);
        const struct print_subject subject = {ddi->name, ddi->unit, 0, ddi->number};
        if (!each(context, &subject))
            return;
    }
}

struct search {
    const char *term;
    bool whole; /* in: look for whole names only */
    bool found;
};

static bool search_one(void *context, const struct print_subject *subject)
{
    struct search *search = context;

    search->found = term_means(search->term, search->whole, subject);
    return !search->found;
}

int print_choice_make(struct print_choice *choice, const struct dbr_signal_terms *terms,
                      const struct dbr_definitions *definitions, struct dbr_error *error)
{
    choice->terms = terms;
    for (size_t i = 0; i < terms->count; i++) {
        if (print_term_ddi(terms->items[i]) >= 0)
            continue;
        struct search search = {.term = terms->items[i], .whole = true};
        print_each_subject(definitions, search_one, &search);
        choice->whole[i] = search.found;
        search.whole = false;
        if (!search.found)
            print_each_subject(definitions, search_one, &search);
        if (!search.found)
            return dbr_error_set(error, DBR_ERROR_USAGE,
                                 "signal %s: no message has one with this %s",
                                 terms->items[i], is_number(terms->items[i]) ? "SPN" : "name");
    }
    return 0;
}
