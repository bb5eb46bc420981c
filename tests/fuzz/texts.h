/*
 * texts.h - what every text that the library hands out must be.
 *
 * Written from RFC 3629 and RFC 8259, not from the code under test.
 */
#ifndef TESTS_FUZZ_TEXTS_H
#define TESTS_FUZZ_TEXTS_H

#include <stddef.h>

enum text_kind {
    TEXT_ANY,   /* UTF-8, and nothing more is promised */
    TEXT_LINE,  /* no control characters at all */
    TEXT_LINES, /* line feeds as well */
    TEXT_LAYOUT /* tabs as well, as JSON and pages have them */
};

/* In words what is wrong with a text; NULL: nothing. */
const char *text_flaw(const char *text, size_t length, enum text_kind kind);

/* The same of a JSON text: UTF-8, one value, nothing behind it but white space. */
const char *json_flaw(const char *text, size_t length);

#endif
