/* identity_words.c - see identity_words.h. */
#include "reporting/identity_words.h"

#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "text/clean.h"

#define TEXT_COLUMNS 40u /* of one told text; the JSON report has all of it */

/* Adds an item to a line, after a comma where it is not the first. */
static void add(char *line, const char *format, ...) __attribute__((format(printf, 2, 3)));

static void add(char *line, const char *format, ...)
{
    char item[IDENTITY_WORDS_MAX];
    size_t used = strlen(line);
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(item, sizeof item, format, arguments);
    va_end(arguments);
    if (used + strlen(item) + 3 > IDENTITY_WORDS_MAX)
        return;
    snprintf(line + used, IDENTITY_WORDS_MAX - used, "%s%s", used > 0 ? ", " : "", item);
}

/* A told text, cut where it is long. It is clean UTF-8 already. */
static const char *shown(char *out, size_t size, const char *text)
{
    unsigned columns = 0;
    size_t end = 0, last = 0;

    for (; text[end] && columns < TEXT_COLUMNS; columns++) {
        last = end;
        size_t length = utf8_length(text + end);
        end += length > 0 ? length : 1;
    }
    bool cut = text[end] != '\0';
    snprintf(out, size, "%.*s%s", (int)(cut ? last : end), text, cut ? "~" : "");
    return out;
}

static void add_software(char *line, const struct dbr_identity *identity)
{
    const struct dbr_told *told = identity->told[DBR_TOLD_SOFTWARE];
    char text[DBR_TOLD_TEXT_MAX];

    for (size_t i = 0; told && i < told->text_count; i++)
        if (told->texts[i][0])
            add(line, "software %s", shown(text, sizeof text, told->texts[i]));
}

/* What a technician compares first comes first: software, serial numbers. */
static void add_texts(char *line, const struct dbr_identity *identity)
{
    static const struct {
        enum dbr_told_group group;
        size_t field;
        const char *words;
    } rows[] = {
        {DBR_TOLD_INFORMATION, DBR_INFORMATION_SOFTWARE, "software"},
        {DBR_TOLD_ECU, DBR_ECU_SERIAL, "serial number"},
        {DBR_TOLD_INFORMATION, DBR_INFORMATION_SERIAL, "serial number"},
        {DBR_TOLD_ECU, DBR_ECU_PART_NUMBER, "part number"},
        {DBR_TOLD_ECU, DBR_ECU_HARDWARE, "hardware"},
        {DBR_TOLD_ECU, DBR_ECU_TYPE, "type"},
        {DBR_TOLD_ECU, DBR_ECU_LOCATION, "location"},
        {DBR_TOLD_ECU, DBR_ECU_MAKER, "maker"},
        {DBR_TOLD_PRODUCT, DBR_PRODUCT_MODEL, "model"},
        {DBR_TOLD_PRODUCT, DBR_PRODUCT_BRAND, "brand"},
        {DBR_TOLD_PRODUCT, DBR_PRODUCT_CODE, "product code"},
        {DBR_TOLD_INFORMATION, DBR_INFORMATION_MODEL, "model"},
        {DBR_TOLD_INFORMATION, DBR_INFORMATION_VERSION, "model version"},
        {DBR_TOLD_COMPONENT, DBR_COMPONENT_MAKE, "component make"},
        {DBR_TOLD_COMPONENT, DBR_COMPONENT_MODEL, "component model"},
        {DBR_TOLD_COMPONENT, DBR_COMPONENT_SERIAL, "component serial number"},
        {DBR_TOLD_COMPONENT, DBR_COMPONENT_UNIT, "unit number"},
    };
    char text[DBR_TOLD_TEXT_MAX];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const char *told = dbr_identity_text(identity, rows[i].group, rows[i].field);
        if (told)
            add(line, "%s %s", rows[i].words, shown(text, sizeof text, told));
    }
}

static void add_changes(char *line, const struct dbr_history *h,
                        const struct dbr_identity *identity)
{
    int64_t changed_ns = -1;
    uint64_t beyond = 0;

    for (int g = 0; g < DBR_TOLD_GROUPS; g++) {
        const struct dbr_told *told = identity->told[g];
        if (told && told->changed_ns > changed_ns)
            changed_ns = told->changed_ns;
        beyond += told ? told->beyond : 0;
    }
    if (changed_ns >= 0 && h->timed)
        add(line, "told otherwise before %.1f s", (double)changed_ns / 1e9);
    else if (changed_ns >= 0)
        add(line, "told otherwise before");
    if (beyond > 0)
        add(line, "%" PRIu64 " further fields", beyond);
}

static void add_abilities(char *line, const struct dbr_told *told)
{
    for (size_t i = 0; told && i < told->functionality_count; i++) {
        const char *words = dbr_functionality_words(told->functionalities[i].code);
        const char *head = i == 0 ? "can do: " : "";
        if (words)
            add(line, "%s%s", head, words);
        else
            add(line, "%sfunctionality %u", head, told->functionalities[i].code);
    }
}

static void add_leader(char *line, const struct dbr_history *h, const struct dbr_ecu *ecu)
{
    int master = dbr_history_master(h, ecu);
    const struct dbr_ecu *leader =
        master >= 0 ? dbr_history_ecu(h, ecu->interface, (uint8_t)master) : NULL;
    char label[DBR_LABEL_MAX];

    if (!leader || leader == ecu)
        return;
    dbr_ecu_label(label, sizeof label, leader);
    add(line, "member of the working set of %s", label);
}

void identity_words(struct identity_words *words, const struct dbr_history *h,
                    const struct dbr_ecu *ecu)
{
    words->told[0] = words->abilities[0] = words->leader[0] = '\0';
    if (ecu->identity) {
        add_software(words->told, ecu->identity);
        add_texts(words->told, ecu->identity);
        add_changes(words->told, h, ecu->identity);
        add_abilities(words->abilities, ecu->identity->told[DBR_TOLD_FUNCTIONALITIES]);
    }
    add_leader(words->leader, h, ecu);
}
