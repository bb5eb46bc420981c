/*
 * identity_words.h - what an ECU told about itself, as lines for people.
 */
#ifndef DRAWBAR_REPORTING_IDENTITY_WORDS_H
#define DRAWBAR_REPORTING_IDENTITY_WORDS_H

#include "drawbar/reporting.h"

#define IDENTITY_WORDS_MAX 2048u

/* Clean UTF-8; "" where there is nothing to say. An item that has no room is left out whole. */
struct identity_words {
    char told[IDENTITY_WORDS_MAX];      /* "software 2.1, serial number S1, ..." */
    char abilities[IDENTITY_WORDS_MAX]; /* "can do: task controller with sections (client), ..." */
    char leader[IDENTITY_WORDS_MAX];    /* "member of the working set of rate control (128)" */
};

void identity_words(struct identity_words *words, const struct dbr_history *h,
                    const struct dbr_ecu *ecu);

#endif
