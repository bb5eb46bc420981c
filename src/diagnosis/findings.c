/* findings.c - see findings.h. */
#include "diagnosis/findings.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "diagnosis/advice.h"
#include "diagnosis/rules.h"
#include "text/clean.h"

#define TEXT_MAX 1024u

/* Texts are kept one behind the other until all is released. */
struct text_block {
    struct text_block *next;
    char text[];
};

static const char *keep_text(struct findings *f, const char *format, va_list arguments)
    __attribute__((format(printf, 2, 0)));

/* Names by a rig, by definitions and by ECUs come in here: nothing but harmless UTF-8 goes out. */
static const char *keep_text(struct findings *f, const char *format, va_list arguments)
{
    char raw[TEXT_MAX], line[TEXT_MAX];

    vsnprintf(raw, sizeof raw, format, arguments);
    clean_text(line, sizeof line, raw);
    size_t length = strlen(line);
    struct text_block *block = malloc(sizeof *block + length + 1);
    if (!block) {
        f->failed = true;
        return "";
    }
    memcpy(block->text, line, length + 1);
    block->next = f->texts;
    f->texts = block;
    return block->text;
}

const char *findings_text(struct findings *f, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    const char *text = keep_text(f, format, arguments);
    va_end(arguments);
    return text;
}

static struct dbr_lines lines_of(const char *const *items)
{
    struct dbr_lines lines = {0, (const char **)(uintptr_t)items};

    while (items[lines.count])
        lines.count++;
    return lines;
}

/* Beyond the ceiling, and without memory, the one that nobody will read. */
static struct found *room_for_one(struct findings *f)
{
    bool full = f->count == DBR_FINDINGS_MAX;
    struct found *found = full ? NULL : calloc(1, sizeof *found);

    if (found)
        return f->items[f->count++] = found;
    f->dropped += full;
    f->failed |= !full;
    f->unread = (struct found){0};
    return &f->unread;
}

struct found *findings_add(struct findings *f, const struct rule *rule)
{
    struct found *found = room_for_one(f);

    found->rule = rule;
    found->kind = found->section = -1;
    found->seen.code = rule->code;
    found->seen.severity = rule->severity;
    found->seen.interface = found->seen.address = found->seen.pgn = -1;
    found->seen.count = 1;
    found->seen.title = "";
    found->seen.checks = lines_of(rule->checks);
    found->seen.cautions = lines_of(rule->cautions);
    found->seen.evidence.items = found->evidence;
    return found;
}

void found_about(struct found *found, int interface, int address, int32_t pgn)
{
    found->seen.interface = interface;
    found->seen.address = address;
    found->seen.pgn = pgn;
}

void found_between(struct found *found, int64_t start_ns, int64_t end_ns, bool open)
{
    found->seen.timed = true;
    found->seen.start_ns = start_ns;
    found->seen.end_ns = end_ns;
    found->seen.open = open;
}

void found_during(struct found *found, const struct dbr_spells *spells)
{
    if (spells->count == 0)
        return;
    const struct dbr_spell *first = &spells->items[0], *last = &spells->items[spells->count - 1];
    found_between(found, first->start_ns, last->end_ns, last->open);
    found->seen.count = spells->count + spells->folded;
}

void found_address(struct found *found, uint8_t address)
{
    const size_t room = sizeof found->seen.addresses / sizeof found->seen.addresses[0];

    if (found->seen.address_count < room)
        found->seen.addresses[found->seen.address_count++] = address;
}

void found_title(struct findings *f, struct found *found, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    found->seen.title = keep_text(f, format, arguments);
    va_end(arguments);
}

void found_evidence(struct findings *f, struct found *found, const char *format, ...)
{
    va_list arguments;

    if (found->seen.evidence.count == EVIDENCE_MAX)
        return;
    va_start(arguments, format);
    found->evidence[found->seen.evidence.count++] = keep_text(f, format, arguments);
    va_end(arguments);
}

static enum advice_context context_of(const struct findings *f, const struct found *found)
{
    switch (found->kind) {
    case DBR_SPEED_WHEEL:
    case DBR_SPEED_VEHICLE:
        return CONTEXT_WHEEL;
    case DBR_SPEED_GROUND:
        return CONTEXT_RADAR;
    case DBR_SPEED_GNSS:
    case DBR_SPEED_NAVIGATION:
        return CONTEXT_SATELLITES;
    case DBR_SPEED_IMPLEMENT:
        return CONTEXT_IMPLEMENT;
    default:
        break;
    }
    if (found->seen.interface < 0 || found->seen.address < 0)
        return CONTEXT_OTHER;
    const struct dbr_ecu *ecu = dbr_history_ecu(f->history, (uint8_t)found->seen.interface,
                                                (uint8_t)found->seen.address);
    return ecu && dbr_ecu_is_implement(ecu) ? CONTEXT_IMPLEMENT : CONTEXT_OTHER;
}

void found_advise(const struct findings *f, struct found *found)
{
    const struct advice *advice = advice_find(found->seen.code, context_of(f, found));

    if (!advice)
        return;
    found->seen.checks = lines_of(advice->checks);
    if (advice->cautions)
        found->seen.cautions = lines_of(advice->cautions);
}

void found_checks(struct found *found, const char *const *checks)
{
    found->seen.checks = lines_of(checks);
}

void found_cautions(struct found *found, const char *const *cautions)
{
    found->seen.cautions = lines_of(cautions);
}

void findings_release(struct findings *f)
{
    for (size_t i = 0; i < f->count; i++)
        free(f->items[i]);
    while (f->texts) {
        struct text_block *next = f->texts->next;
        free(f->texts);
        f->texts = next;
    }
}
