/* Paragraphs on a terminal. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <string.h>

#include "reporting/layout.h"

static void write_paragraph(char *out, size_t size, unsigned width, const char *first,
                            const char *text)
{
    FILE *file = fmemopen(out, size, "w");
    struct layout l = {file, width, false};

    layout_paragraph(&l, INK_PLAIN, first, text);
    fclose(file);
}

Test(reporting_layout, words_are_wrapped_under_the_first_line)
{
    char out[256] = "";

    write_paragraph(out, sizeof out, 30, "  1. ", "one two three four five six seven");
    cr_assert_str_eq(out, "  1. one two three four five\n     six seven\n");
}

Test(reporting_layout, no_line_is_wider_than_asked_and_no_letter_is_lost)
{
    static const char text[] = "a bb ccc dddd eeeee ffffff ggggggg hhhhhhhh iiiiiiiii jjjjjjjjjj "
                               "\xC3\xA4\xC3\xB6\xC3\xBC \xC3\xA4\xC3\xB6\xC3\xBC";
    char out[512], *line, *rest;
    size_t letters = 0, expected = 0;

    for (const char *c = text; *c; c++)
        expected += *c != ' ';
    write_paragraph(out, sizeof out, 40, "", text);
    for (line = strtok_r(out, "\n", &rest); line; line = strtok_r(NULL, "\n", &rest)) {
        cr_assert_leq(strlen(line), 40 + 6);
        for (const char *c = line; *c; c++)
            letters += *c != ' ';
    }
    cr_assert_eq(letters, expected);
}

Test(reporting_layout, a_word_longer_than_the_line_stays_whole)
{
    char out[256] = "";

    write_paragraph(out, sizeof out, 30, "", "see aVeryLongPathThatDoesNotFitIntoTheLine/log now");
    cr_assert_str_eq(out, "see\naVeryLongPathThatDoesNotFitIntoTheLine/log\nnow\n");
}
