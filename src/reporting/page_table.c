/* page_table.c - tables in the page (page.h). */
#include <stdarg.h>

#include "reporting/html_text.h"
#include "reporting/page.h"

#define CELL_MAX 512u

struct page_table page_table_open(const struct page *p, const char *caption,
                                  const char *const *heads)
{
    struct page_table t = {.p = p, .heads = heads};

    fprintf(p->out, "<table>\n<caption>");
    html_text(p->out, caption);
    fputs("</caption>\n<thead><tr>", p->out);
    for (size_t i = 0; heads[i]; i++) {
        fputs("<th scope=\"col\">", p->out);
        html_text(p->out, heads[i]);
        fputs("</th>", p->out);
    }
    fputs("</tr></thead>\n<tbody>\n", p->out);
    return t;
}

void page_row_open(struct page_table *t, const char *class)
{
    t->column = 0;
    if (class)
        fprintf(t->p->out, "<tr class=\"%s\">", class);
    else
        fputs("<tr>", t->p->out);
}

/* The first cell of a row is its head: what the row is about. */
static void close_cell(struct page_table *t)
{
    if (t->column > 0)
        fputs(t->column == 1 ? "</th>" : "</td>", t->p->out);
}

void page_cell_open(struct page_table *t)
{
    close_cell(t);
    if (t->column == 0)
        fputs("<th scope=\"row\">", t->p->out);
    else
        fprintf(t->p->out, "<td data-head=\"%s\">", t->heads[t->column]);
    t->column++;
}

void page_row_close(struct page_table *t)
{
    close_cell(t);
    fputs("</tr>\n", t->p->out);
}

void page_table_close(struct page_table *t)
{
    fputs("</tbody></table>\n", t->p->out);
}

void page_cell_text(struct page_table *t, const char *format, ...)
{
    char text[CELL_MAX];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    page_cell_open(t);
    html_text(t->p->out, text);
}

void page_cell_time(struct page_table *t, int64_t ns, bool known)
{
    page_cell_open(t);
    if (known)
        page_time(t->p, ns);
    else
        fputs("unknown", t->p->out);
}
