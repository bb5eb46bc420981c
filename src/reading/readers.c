/*
 * readers.c - the forms of recording that the program reads.
 *
 * To add one: write a file with a `const struct reader` (see source.h for what
 * its members promise), declare it in source.h, add it here, and add to
 * tests/ a sound, a cut and a hostile sample. tests/unit/reading walks this
 * table: probes must exclude each other, and frames + rejected must be records.
 */
#include "reading/source.h"

const struct reader *const readers[] = {
    &pcapng_reader,
    &pcap_reader,
    &text_reader,
};

const size_t reader_count = sizeof readers / sizeof readers[0];

const char *dbr_rejection_words(enum dbr_rejection reason)
{
    static const char *const words[] = {
#define WORDS(name, text) text,
        DBR_REJECTIONS(WORDS)
#undef WORDS
    };
    return (unsigned)reason < DBR_REJECTION_COUNT ? words[reason] : "unknown";
}
