/* html_text.c - see html_text.h. */
#include "reporting/html_text.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "text/clean.h"

#define FORMAT_MAX 1024u

static const char *reference(char c)
{
    switch (c) {
    case '&':
        return "&amp;";
    case '<':
        return "&lt;";
    case '>':
        return "&gt;";
    case '"':
        return "&quot;";
    case '\'':
        return "&#39;";
    default:
        return NULL;
    }
}

/* One character at a time, so that a text of any length needs no memory. */
void html_text(FILE *out, const char *text)
{
    char one[8], clean[sizeof one * CLEAN_GROWTH];

    while (*text) {
        size_t length = utf8_length(text);
        length = length > 0 ? length : 1;
        memcpy(one, text, length);
        one[length] = '\0';
        const char *same = reference(one[0]);
        fputs(same ? same : clean_text(clean, sizeof clean, one), out);
        text += length;
    }
}

void html_format(FILE *out, const char *format, ...)
{
    char text[FORMAT_MAX];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    html_text(out, text);
}

void html_json(FILE *out, const char *json)
{
    for (; *json; json++) {
        if (*json == '<' || *json == '>' || *json == '&')
            fprintf(out, "\\u%04x", (unsigned)(unsigned char)*json);
        else
            fputc(*json, out);
    }
}
