/* proven.c - see proven.h. */
#include "support/proven.h"

#include "decoding/loader.h"

#define WORDS_MAX 256u

static int prove_example(const struct dbr_message *message, size_t index, struct dbr_error *error)
{
    const struct dbr_example *example = &message->examples[index];
    char words[WORDS_MAX];

    for (size_t i = 0; i < example->expect_count; i++)
        if (prove_expectation(message, example, &example->expect[i], words, sizeof words))
            return dbr_error_set(error, DBR_ERROR_SCHEMA, "%s: PGN %u, example %zu: %s",
                                 message->file, message->pgn, index + 1, words);
    return 0;
}

int message_prove(const struct dbr_message *message, struct dbr_error *error)
{
    for (size_t i = 0; i < message->example_count; i++)
        if (prove_example(message, i, error) < 0)
            return -1;
    return 0;
}
