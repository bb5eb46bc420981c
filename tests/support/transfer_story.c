/* transfer_story.c - see transfer_story.h. */
#include "support/transfer_story.h"

#include <stdio.h>
#include <string.h>

#define COMPONENT "EBFE00" /* group 65259 */

void control(struct story *s, double at, uint8_t from, uint8_t to, const char *start)
{
    char hex[17];

    snprintf(hex, sizeof hex, "%s" COMPONENT, start);
    story_frame(s, at, story_id(7, 60416, to, from), hex);
}

void packet(struct story *s, double at, uint8_t from, uint8_t to, unsigned number)
{
    char hex[17];

    snprintf(hex, sizeof hex, "%02X01020304050607", number);
    story_frame(s, at, story_id(7, 60160, to, from), hex);
}

void connection_of(struct story *s, double at, uint8_t from, uint8_t to, unsigned lacking)
{
    control(s, at, from, to, "10140003FF");
    control(s, at + 0.01, to, from, "110301FFFF");
    for (unsigned i = 1; i <= 3; i++)
        if (i != lacking)
            packet(s, at + 0.01 + 0.01 * i, from, to, i);
    control(s, at + 0.06, to, from, "13140003FF");
}

void connection(struct story *s, double at, unsigned lacking)
{
    connection_of(s, at, 140, 38, lacking);
}

struct story *bus_of_both(double to)
{
    struct story *s = story_new();

    story_background(s, 0, to);
    story_beat(s, story_id(6, 65300, 255, 140), 0.1, 0, to, "0000000000000000");
    story_beat(s, story_id(6, 65301, 255, 38), 0.1, 0, to, "0000000000000000");
    return s;
}

const char *evidence_of(const struct dbr_finding *f)
{
    static char text[4096];

    snprintf(text, sizeof text, "%s", f->title);
    for (size_t i = 0; i < f->evidence.count; i++) {
        size_t used = strlen(text);
        snprintf(text + used, sizeof text - used, "\n%s", f->evidence.items[i]);
    }
    return text;
}

bool says(const struct dbr_finding *f, const char *words)
{
    return f && strstr(evidence_of(f), words);
}

size_t findings_of(const struct outcome *o)
{
    size_t count = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        count += strcmp(o->diagnosis->findings[i].code, "transfer-failed") == 0;
    return count;
}
