/* inbox_said.c - see inbox_said.h. */
#include "unit/reporting/inbox_said.h"

#include <criterion/criterion.h>
#include <stdlib.h>
#include <string.h>

#include "support/kept.h"

static void number(char out[32], double value)
{
    if (value < 0)
        snprintf(out, 32, "null");
    else
        snprintf(out, 32, "%.3f", value);
}

static const char *or_none(const char *text)
{
    return text ? text : "";
}

char *said_report(const struct said *s)
{
    char *text = NULL, start[32], duration[32];
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    number(start, s->start);
    number(duration, s->duration);
    fprintf(out,
            "{\"schema\":\"drawbar-report/1\",\"recording\":{\"time_base\":\"epoch\","
            "\"start\":%s,\"duration_s\":%s,\"files\":[{\"path\":\"%s\",\"sha256\":\"%s\"}]},"
            "\"ecus\":[%s],\"chain\":[%s],\"verdict\":{\"sentence\":\"S\",\"root_causes\":[%s]},"
            "\"findings\":[%s]}",
            start, duration, or_none(s->path), or_none(s->sha256), or_none(s->ecus),
            or_none(s->chain), or_none(s->roots), or_none(s->findings));
    fclose(out);
    return text;
}

struct dbr_inbox *said_nothing(void)
{
    FILE *spool = tmpfile();
    struct dbr_inbox *inbox = dbr_inbox_new(spool, NULL);

    cr_assert_not_null(spool);
    cr_assert_not_null(inbox);
    return inbox;
}

static void add(struct dbr_inbox *inbox, const struct said *s)
{
    char *json = said_report(s);

    cr_assert_eq(dbr_inbox_add(inbox, &(struct dbr_inbox_upload){.json = json}, NULL), 0, "%s",
                 json);
    free(json);
}

struct dbr_inbox *said_all(const struct said *list, size_t count)
{
    struct dbr_inbox *inbox = said_nothing();
    char digest[65];

    for (size_t i = 0; i < count; i++) {
        struct said s = list[i];
        snprintf(digest, sizeof digest, "%064zx", i + 1);
        s.sha256 = s.sha256 ? s.sha256 : digest;
        add(inbox, &s);
    }
    cr_assert_eq(dbr_inbox_order(inbox, NULL), 0);
    return inbox;
}

void said_leave(struct dbr_inbox *inbox)
{
    FILE *spool = inbox->spool;

    dbr_inbox_free(inbox);
    fclose(spool);
}

char *said_lines(const struct dbr_inbox *inbox, said_writer *lines)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(lines(out, inbox, NULL), 0);
    fclose(out);
    return kept(text);
}

char *said_page(const struct dbr_inbox *inbox, enum dbr_inbox_list list)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    cr_assert_eq(dbr_inbox_page(out, inbox, list, 1, NULL), 0);
    fclose(out);
    return text;
}

size_t said_times(const char *text, const char *part)
{
    size_t count = 0;

    for (; (text = strstr(text, part)); text += strlen(part))
        count++;
    return count;
}
