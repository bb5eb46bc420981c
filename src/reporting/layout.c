/* layout.c - see layout.h. Colours: ECMA-48 8.3.117, select graphic rendition. */
#include "reporting/layout.h"

#include <stdarg.h>
#include <string.h>

#include "text/clean.h"

#define TEXT_MAX 8192u /* a path may have 4096 bytes; replacing makes it longer */

static const char *ink_on(const struct layout *l, enum ink ink)
{
    static const char *const codes[] = {"", "\033[1m", "\033[1;31m", "\033[1;33m", "\033[2m"};
    return l->color ? codes[ink] : "";
}

static const char *ink_off(const struct layout *l, enum ink ink)
{
    return l->color && ink != INK_PLAIN ? "\033[0m" : "";
}

/* How many bytes of `text` fit into `room` columns, ending between words where possible. */
static size_t fitting(const char *text, unsigned room)
{
    size_t length = strlen(text), best = 0, at = 0;

    if (utf8_count(text, length) <= room)
        return length;
    while (at < length && utf8_count(text, at) <= room) {
        if (text[at] == ' ')
            best = at;
        at++;
    }
    if (best > 0)
        return best;
    while (at < length && text[at] != ' ')
        at++; /* a word that is longer than the line stays whole */
    return at;
}

void layout_paragraph(const struct layout *l, enum ink ink, const char *first, const char *text)
{
    char clean[TEXT_MAX];
    unsigned indent = (unsigned)utf8_count(first, strlen(first));
    unsigned room = l->width > indent + 20 ? l->width - indent : 20;
    const char *at = clean_text(clean, sizeof clean, text);

    fputs(first, l->out);
    for (bool begun = false; *at || !begun; begun = true) {
        size_t count = fitting(at, room);
        if (begun)
            fprintf(l->out, "%*s", (int)indent, "");
        fprintf(l->out, "%s%.*s%s\n", ink_on(l, ink), (int)count, at, ink_off(l, ink));
        at += count;
        while (*at == ' ')
            at++;
    }
}

void layout_heading(const struct layout *l, const char *text)
{
    char clean[TEXT_MAX];

    fprintf(l->out, "\n%s%s%s\n", ink_on(l, INK_BOLD), clean_text(clean, sizeof clean, text),
            ink_off(l, INK_BOLD));
}

void layout_line(const struct layout *l, const char *format, ...)
{
    char line[TEXT_MAX], clean[TEXT_MAX];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    size_t length = strlen(clean_text(clean, sizeof clean, line));
    while (length > 0 && clean[length - 1] == ' ')
        clean[--length] = '\0';
    fprintf(l->out, "%s\n", clean);
}
