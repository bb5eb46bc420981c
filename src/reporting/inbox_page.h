/* inbox_page.h - the pages of an inbox: inbox_page.c the frame, inbox_rows.c the rows. */
#ifndef DRAWBAR_REPORTING_INBOX_PAGE_H
#define DRAWBAR_REPORTING_INBOX_PAGE_H

#include "reporting/inbox.h"
#include "reporting/page.h"

/* Rows of the tables, by their place among all. */
void inbox_upload_row(struct page_table *t, const struct dbr_inbox *inbox,
                      const struct inbox_row *row);
void inbox_history_row(struct page_table *t, const struct dbr_inbox *inbox,
                       const struct inbox_history *history);

extern const char *const inbox_upload_heads[];
extern const char *const inbox_history_heads[];

#endif
