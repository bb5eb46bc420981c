/* device_words.c - the story of a description in words; what to call an element. */
#include <inttypes.h>
#include <stdio.h>

#include "drawbar/tracking.h"

#define SENTENCE_MAX 240u

bool dbr_device_story_complete(const struct dbr_device_story *s)
{
    return s->description && s->description->complete && !s->from_prefix && s->bytes_beyond == 0;
}

/* "timed out; 12 of 40 packets came". */
static const char *failure_text(char *out, size_t size, const struct dbr_device_failure *f)
{
    const char *why = f->end == DBR_TRANSFER_ABORTED
                          ? dbr_abort_reason_words(f->abort_reason, f->extended)
                          : NULL;

    snprintf(out, size, "%s%s%s; %" PRIu32 " of %" PRIu32 " packets came",
             dbr_transfer_end_words(f->end), why ? ": " : "", why ? why : "", f->received,
             f->packets);
    return out;
}

/* Why there is no description at all. */
static void missing_text(char *out, size_t size, const struct dbr_device_story *s)
{
    char why[SENTENCE_MAX];

    if (s->failed > 0)
        snprintf(out, size, "its transfer is not whole (%s)", failure_text(why, sizeof why, &s->failure));
    else if (s->ever_activated)
        snprintf(out, size, "it is not in this recording: the controller had it stored, and it was "
                            "only activated");
    else
        snprintf(out, size, "it is not in this recording: it was not sent");
}

static void first_problem(char *out, size_t size, const struct dbr_device *d)
{
    char text[SENTENCE_MAX];
    uint64_t more = d->problem_count - 1 + d->problems_beyond;

    dbr_pool_problem_text(text, sizeof text, &d->problems[0]);
    if (more > 0)
        snprintf(out, size, "%s, and %" PRIu64 " more", text, more);
    else
        snprintf(out, size, "%s", text);
}

const char *dbr_device_story_problem(char *out, size_t size, const struct dbr_device_story *s)
{
    char why[SENTENCE_MAX];

    if (!s->description)
        missing_text(out, size, s);
    else if (s->from_prefix)
        snprintf(out, size, "its transfer is not whole (%s): what came from its beginning on is kept",
                 failure_text(why, sizeof why, &s->failure));
    else if (s->bytes_beyond > 0)
        snprintf(out, size, "it is larger than can be kept: %" PRIu64 " bytes are left out",
                 s->bytes_beyond);
    else if (s->description->problem_count > 0)
        first_problem(out, size, s->description);
    else
        return NULL;
    return out;
}

struct reason {
    uint8_t bit;
    const char *words;
};

/* Lists the words of the bits that are set. */
static size_t add_reasons(char *out, size_t size, size_t used, const char *before, uint8_t bits,
                          const struct reason *reasons, size_t count)
{
    for (size_t i = 0; i < count && used < size; i++) {
        if (!(bits & reasons[i].bit))
            continue;
        used += (size_t)snprintf(out + used, size - used, "%s%s", before, reasons[i].words);
        before = ", ";
    }
    return used;
}

/* ISO 11783-10 annex B, response to activation: byte 2, and byte 7 about the object. */
static void activation_text(char *out, size_t size, size_t used,
                            const struct dbr_device_refusal *r)
{
    static const struct reason reasons[] = {{0x01, "errors in it"},
                                            {0x02, "out of memory"},
                                            {0x04, "another error"},
                                            {0x08, "another description has its label"}};
    static const struct reason about[] = {{0x01, "what it asks for is not supported"},
                                          {0x02, "unknown reference"},
                                          {0x04, "another error"},
                                          {0x08, "the description was deleted"}};

    used = add_reasons(out, size, used, ": ", r->reasons, reasons,
                       sizeof reasons / sizeof reasons[0]);
    if (!(r->reasons & 0x01u) || used >= size)
        return;
    if (r->object != DBR_OBJECT_NONE)
        used += (size_t)snprintf(out + used, size - used, "; object %u", r->object);
    if (r->parent != DBR_OBJECT_NONE && used < size)
        used += (size_t)snprintf(out + used, size - used, " of parent %u", r->parent);
    if (r->object_reasons != 0xFF && used < size)
        add_reasons(out, size, used, ": ", r->object_reasons, about,
                    sizeof about / sizeof about[0]);
}

const char *dbr_device_refusal_text(char *out, size_t size, const struct dbr_device_refusal *r)
{
    switch (r->kind) {
    case DBR_REFUSED_MEMORY:
        snprintf(out, size, "the controller has no memory for it");
        break;
    case DBR_REFUSED_TRANSFER:
        snprintf(out, size, "the controller did not take it: %s",
                 r->reasons == 1 ? "out of memory" : "another error");
        break;
    case DBR_REFUSED_ACTIVATION:
        activation_text(out, size,
                        (size_t)snprintf(out, size, "the controller did not activate it"), r);
        break;
    case DBR_REFUSED_DELETION:
        snprintf(out, size, "the controller did not delete it%s",
                 r->reasons == 0 ? ": a task needs it" : "");
        break;
    case DBR_REFUSED_DESIGNATOR:
        snprintf(out, size, "the controller did not change the designator of object %u", r->object);
        break;
    }
    return out;
}

static bool had_name(const struct dbr_ecu *ecu, uint64_t name)
{
    for (size_t i = 0; ecu && i < ecu->name_count; i++)
        if (ecu->names[i] == name)
            return true;
    return false;
}

/* An ECU that moved is known by its NAME at each address that it had. */
const struct dbr_device_story *dbr_history_device(const struct dbr_history *h, uint8_t interface,
                                                  uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(h, interface, address);

    for (size_t i = 0; i < h->device_count; i++)
        if (h->devices[i].interface == interface && h->devices[i].address == address)
            return &h->devices[i];
    for (size_t i = 0; i < h->device_count; i++)
        if (h->devices[i].interface == interface && h->devices[i].named &&
            had_name(ecu, h->devices[i].name))
            return &h->devices[i];
    return NULL;
}

const struct dbr_device_object *dbr_history_element(const struct dbr_history *h,
                                                    uint8_t interface, uint8_t address,
                                                    uint16_t number)
{
    const struct dbr_device_story *story = dbr_history_device(h, interface, address);
    return story && story->description ? dbr_device_element(story->description, number) : NULL;
}

const char *dbr_element_label(char *out, size_t size, const struct dbr_history *h,
                              uint8_t interface, uint8_t address, uint16_t number)
{
    const struct dbr_device_object *element =
        dbr_history_element(h, interface, address, number);

    if (element && *element->text)
        snprintf(out, size, "element %u \"%s\"", number, element->text);
    else
        snprintf(out, size, "element %u", number);
    return out;
}
