/* wording.c - see wording.h. */
#include "diagnosis/wording.h"

#include <inttypes.h>

#include "diagnosis/units.h"

#define NS_PER_S 1e9

#define ELEMENT_LABEL_MAX 160u /* a designator of 128 bytes, and words */

const char *word_time(struct findings *f, int64_t ns)
{
    if (!f->history->timed)
        return "an unknown time";
    return findings_text(f, "%.1f s", (double)ns / NS_PER_S);
}

const char *word_span(struct findings *f, const struct dbr_spell *spell)
{
    if (spell->open)
        return findings_text(f, "from %s to the end of the recording",
                             word_time(f, spell->start_ns));
    return findings_text(f, "from %s to %s", word_time(f, spell->start_ns),
                         word_time(f, spell->end_ns));
}

const char *word_speed(struct findings *f, double mps)
{
    char out[UNITS_TEXT_MAX];

    return findings_text(f, "%s", units_speed(out, f->units, mps));
}

const char *word_distance(struct findings *f, double metres)
{
    char out[UNITS_TEXT_MAX];

    return findings_text(f, "%s", units_distance(out, f->units, metres));
}

const char *word_ecu(struct findings *f, uint8_t interface, uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(f->history, interface, address);
    char label[DBR_LABEL_MAX];

    if (!ecu)
        return findings_text(f, "address %u", address);
    dbr_ecu_label(label, sizeof label, ecu);
    return findings_text(f, "%s%s", label, word_where(f, interface));
}

static const char *kind_words(enum dbr_speed_kind kind)
{
    switch (kind) {
    case DBR_SPEED_WHEEL:
        return "wheel-based speed";
    case DBR_SPEED_GROUND:
        return "ground-based speed";
    case DBR_SPEED_SELECTED:
        return "machine selected speed";
    case DBR_SPEED_VEHICLE:
        return "wheel-based vehicle speed";
    case DBR_SPEED_NAVIGATION:
        return "navigation-based speed";
    case DBR_SPEED_GNSS:
        return "GNSS speed";
    case DBR_SPEED_IMPLEMENT:
        return "implement's own speed";
    case DBR_SPEED_KINDS:
        break;
    }
    return "speed";
}

const char *word_element(struct findings *f, uint8_t interface, uint8_t address, uint16_t number)
{
    char label[ELEMENT_LABEL_MAX];

    return findings_text(f, "%s", dbr_element_label(label, sizeof label, f->history, interface,
                                                    address, number));
}

const char *word_source(struct findings *f, const struct dbr_speed_source *source)
{
    return findings_text(f, "%s from %s", kind_words(source->kind),
                         word_ecu(f, source->interface, source->address));
}

const char *word_sources(struct findings *f, uint64_t mask)
{
    const char *list = "";

    for (size_t i = 0; i < f->history->source_count; i++)
        if (mask >> i & 1u)
            list = findings_text(f, "%s%s%s", list, *list ? ", " : "",
                                 word_source(f, &f->history->sources[i]));
    return *list ? list : "no other source";
}

const char *word_name(struct findings *f, uint64_t name)
{
    return findings_text(f, "%016" PRIX64, name);
}

const char *word_where(struct findings *f, int interface)
{
    if (f->info->interface_count < 2 || interface < 0)
        return "";
    return findings_text(f, " on %.40s", f->info->interfaces[interface]);
}
