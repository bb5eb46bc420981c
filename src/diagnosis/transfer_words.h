/* transfer_words.h - what is said of a transfer that failed. */
#ifndef DRAWBAR_DIAGNOSIS_TRANSFER_WORDS_H
#define DRAWBAR_DIAGNOSIS_TRANSFER_WORDS_H

#include "diagnosis/findings.h"

/* Whether the receiver would not begin. */
bool transfer_is_refusal(const struct dbr_failed_transfers *failed);

/* "component identification (65259)", "group 65259". */
const char *word_group(struct findings *f, uint32_t pgn, const struct dbr_message *message);

/* "all", or the ECU at the destination. */
const char *word_receiver(struct findings *f, const struct dbr_transfer *t);

/* "abort reason 3: a timeout ran out". */
const char *word_reason(struct findings *f, const struct dbr_transfer *t);

/* What happened to whom, in a line. */
const char *word_transfer_failure(struct findings *f, const struct dbr_failed_transfers *failed);

/* How often, how far, why, what else was said between the two, and how sure that is. */
void tell_transfer_failure(struct findings *f, struct found *found,
                           const struct dbr_failed_transfers *failed);

#endif
