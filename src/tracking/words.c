/* words.c - names of kinds and states, labels of ECUs. */
#include <stdio.h>

#include "drawbar/name.h"
#include "drawbar/tracking.h"

#define TOLD_NAME_CHARACTERS 24u /* in a label, which stands in titles and tables */

const char *dbr_speed_kind_name(enum dbr_speed_kind kind)
{
    static const char *const names[] = {"wheel",      "ground", "selected", "vehicle",
                                        "navigation", "gnss",   "implement"};
    _Static_assert(sizeof names / sizeof names[0] == DBR_SPEED_KINDS, "a name for each kind");
    return (unsigned)kind < DBR_SPEED_KINDS ? names[kind] : "unknown";
}

const char *dbr_speed_state_name(enum dbr_speed_state state)
{
    static const char *const names[] = {"valid",         "intermittent", "stuck_zero",
                                        "frozen",        "erratic",      "not_available",
                                        "error",         "lost",         "absent"};
    _Static_assert(sizeof names / sizeof names[0] == DBR_SPEED_STATE_ABSENT + 1,
                   "a name for each state");
    return (unsigned)state <= DBR_SPEED_STATE_ABSENT ? names[state] : "unknown";
}

const char *dbr_speed_state_words(enum dbr_speed_state state)
{
    if (state == DBR_SPEED_STATE_STUCK_ZERO)
        return "stuck zero";
    return state == DBR_SPEED_STATE_NOT_AVAILABLE ? "not available" : dbr_speed_state_name(state);
}

const char *dbr_link_name(enum dbr_link link)
{
    static const char *const names[] = {"on_bus",   "controller", "speed", "working",
                                        "setpoint", "metering",   "rate",  "coverage"};
    _Static_assert(sizeof names / sizeof names[0] == DBR_LINKS, "a name for each link");
    return (unsigned)link < DBR_LINKS ? names[link] : "unknown";
}

const char *dbr_link_words(enum dbr_link link)
{
    if (link == DBR_LINK_ON_BUS)
        return "on the bus";
    return link == DBR_LINK_SETPOINT ? "set-point" : dbr_link_name(link);
}

const char *dbr_answer_name(enum dbr_answer answer)
{
    static const char *const names[] = {"unknown", "failed", "held"};
    return (unsigned)answer <= DBR_ANSWER_HELD ? names[answer] : "unknown";
}

const char *dbr_link_reason_words(enum dbr_link_reason reason)
{
    static const char *const words[] = {
#define WORDS(name, text) text,
        DBR_LINK_REASONS(WORDS)
#undef WORDS
    };
    return (unsigned)reason < DBR_REASON_COUNT ? words[reason] : "unknown";
}

bool dbr_ecu_is_implement(const struct dbr_ecu *ecu)
{
    if (ecu->name_count == 0)
        return false;
    struct dbr_name_fields name = dbr_name_split(ecu->names[ecu->name_count - 1]);
    return dbr_name_is_implement(&name);
}

/* What is known without what it told: its NAME's function, or the usual holder's, or NULL. */
static const char *function_words(const struct dbr_ecu *ecu)
{
    if (ecu->name_count == 0)
        return dbr_address_words(ecu->address);
    struct dbr_name_fields name = dbr_name_split(ecu->names[ecu->name_count - 1]);
    return dbr_name_function_words(&name);
}

void dbr_ecu_short_label(char *out, size_t size, const struct dbr_ecu *ecu)
{
    const char *words = function_words(ecu);

    if (words)
        snprintf(out, size, "%s%s (%u)", words, ecu->name_count == 0 ? "?" : "", ecu->address);
    else
        snprintf(out, size, "address %u", ecu->address);
}

/* Bytes of the first so many characters of UTF-8. */
static size_t bytes_of_characters(const char *text, size_t characters)
{
    size_t at = 0;

    for (; text[at]; at++)
        if (((unsigned char)text[at] & 0xC0u) != 0x80u && characters-- == 0)
            break;
    return at;
}

/* A told name as part of a label: cut where it is long, without quotes of its own. */
static void quotable(char *out, size_t size, const char *name)
{
    size_t bytes = bytes_of_characters(name, TOLD_NAME_CHARACTERS);
    bool cut = name[bytes] != '\0';

    if (cut)
        bytes = bytes_of_characters(name, TOLD_NAME_CHARACTERS - 1);
    snprintf(out, size, "%.*s%s", (int)bytes, name, cut ? "\xE2\x80\xA6" : ""); /* U+2026 */
    for (char *c = out; *c; c++)
        if (*c == '"')
            *c = '\'';
}

void dbr_ecu_label(char *out, size_t size, const struct dbr_ecu *ecu)
{
    const char *words = function_words(ecu);
    const char *told = dbr_identity_name(ecu->identity);
    char name[4 * TOLD_NAME_CHARACTERS + 1];

    if (!told) {
        dbr_ecu_short_label(out, size, ecu);
        return;
    }
    quotable(name, sizeof name, told);
    snprintf(out, size, "%s%s%s\"%s\" (%u)", words ? words : "",
             words && ecu->name_count == 0 ? "?" : "", words ? " " : "", name, ecu->address);
}

int dbr_history_master(const struct dbr_history *history, const struct dbr_ecu *ecu)
{
    for (size_t i = 0; i < history->member_count; i++)
        if (history->members[i].interface == ecu->interface &&
            history->members[i].address == ecu->address)
            return history->members[i].master;
    for (size_t i = 0; i < history->working_set_count; i++)
        if (history->working_sets[i].interface == ecu->interface &&
            history->working_sets[i].master == ecu->address)
            return ecu->address;
    return -1;
}

const char *dbr_trouble_end_name(enum dbr_trouble_end end)
{
    static const char *const names[] = {"stays", "gone", "untold", "unknown"};
    return (unsigned)end <= DBR_TROUBLE_UNKNOWN ? names[end] : "unknown";
}

const char *dbr_trouble_state_words(const struct dbr_trouble *trouble)
{
    if (trouble->previously)
        return "previously";
    switch (trouble->end) {
    case DBR_TROUBLE_GONE:
        return "gone";
    case DBR_TROUBLE_UNTOLD:
        return "told no more";
    case DBR_TROUBLE_UNKNOWN:
        return "unknown";
    case DBR_TROUBLE_STAYS:
        break;
    }
    return "active";
}

const char *dbr_clear_kind_name(enum dbr_clear_kind kind)
{
    static const char *const names[] = {"previously_active", "active", "one"};
    return (unsigned)kind <= DBR_CLEAR_ONE ? names[kind] : "unknown";
}

const char *dbr_clear_answer_name(enum dbr_clear_answer answer)
{
    static const char *const names[] = {"done", "refused", "denied", "busy", "unanswered"};
    return (unsigned)answer <= DBR_CLEAR_UNANSWERED ? names[answer] : "unknown";
}

bool dbr_trouble_words(char *out, size_t size, const struct dbr_history *history,
                       const struct dbr_trouble *trouble)
{
    const struct dbr_trouble_code *code = &trouble->code;
    char label[DBR_LABEL_MAX];

    if (trouble->spn_words) {
        snprintf(out, size, "%s", trouble->spn_words);
        return true;
    }
    if (code->older_layout || !dbr_spn_is_address(code->spn))
        return false;
    struct dbr_ecu unheard = {.address = (uint8_t)(code->spn - DBR_SPN_ADDRESS_FIRST)};
    const struct dbr_ecu *ecu = dbr_history_ecu(history, trouble->interface, unheard.address);
    dbr_ecu_label(label, sizeof label, ecu ? ecu : &unheard);
    snprintf(out, size, "messages of %s", label);
    return true;
}

const struct dbr_ecu *dbr_history_ecu(const struct dbr_history *history, uint8_t interface,
                                      uint8_t address)
{
    for (size_t i = 0; i < history->ecu_count; i++)
        if (history->ecus[i].interface == interface && history->ecus[i].address == address)
            return &history->ecus[i];
    return NULL;
}

const struct dbr_speed_source *dbr_history_source_like(const struct dbr_history *history,
                                                       const struct dbr_speed_source *source)
{
    for (size_t i = 0; i < history->source_count; i++) {
        const struct dbr_speed_source *s = &history->sources[i];
        if (s->kind == source->kind && s->address == source->address && s->pgn == source->pgn)
            return s;
    }
    return NULL;
}

int64_t dbr_link_time_ns(const struct dbr_link_story *story, enum dbr_answer answer)
{
    int64_t sum = 0;

    for (size_t i = 0; i < story->count; i++)
        if (story->items[i].answer == answer)
            sum += story->items[i].end_ns - story->items[i].start_ns;
    return sum;
}

bool dbr_history_moved(const struct dbr_history *history)
{
    for (size_t i = 0; i < history->source_count; i++)
        if (history->sources[i].moved)
            return true;
    return false;
}

bool dbr_history_has_error_frames(const struct dbr_history *history)
{
    for (size_t i = 0; i < history->bus_count; i++)
        if (history->buses[i].error_frames > 0)
            return true;
    return false;
}
