/*
 * definitions.c - files of message definitions: loaded, verified, and what they then decode.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/store.h"
#include "drawbar/verify.h"
#include "fuzz/target.h"
#include "fuzz/texts.h"
#include "support/proven.h"

#define FILE_NAME "input.json"

static void error_must_hold(const struct dbr_error *error)
{
    MUST(error->code > DBR_ERROR_NONE && error->code <= DBR_ERROR_LIMIT);
    MUST(strncmp(error->text, FILE_NAME, strlen(FILE_NAME)) == 0);
    MUST_NOT(text_flaw(error->text, strlen(error->text), TEXT_LINES));
}

static void hear(void *context, const struct dbr_error *mistake)
{
    size_t *heard = context;

    ++*heard;
    error_must_hold(mistake);
}

/* Returns how many mistakes there are. */
static size_t verify_text(const char *text, size_t length)
{
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    size_t heard = 0;
    struct dbr_verify *verify = dbr_verify_new(hear, &heard, &error);

    MUST(verify != NULL);
    MUST(dbr_verify_text(verify, FILE_NAME, text, length, &error) == 0);
    struct dbr_verify_counts counts = *dbr_verify_counts(verify);
    MUST(counts.mistakes == heard + counts.untold && counts.mistakes >= counts.untold);
    dbr_verify_free(verify);
    return counts.mistakes;
}

static void value_must_hold(const struct dbr_signal *signal, const uint8_t *data, size_t length)
{
    struct dbr_value value = dbr_signal_decode(signal, data, length);
    double low, high;

    MUST(value.status <= DBR_VALUE_ABSENT && dbr_value_status_name(value.status));
    MUST((value.status == DBR_VALUE_ABSENT) ==
         ((size_t)signal->first_bit + signal->bits > 8 * length));
    MUST(value.status != DBR_VALUE_VALID || isfinite(value.number));
    dbr_signal_limits(signal, &low, &high);
    MUST(isfinite(low) && isfinite(high) && low <= high);
    MUST(value.status != DBR_VALUE_VALID || signal->has_range ||
         (value.number >= low && value.number <= high));
    (void)dbr_signal_state(signal, value.raw);
}

static void signal_must_hold(const struct dbr_signal *signal, const uint8_t *data, size_t length)
{
    MUST(signal->bits >= 1 && signal->bits <= 64 && signal->role < DBR_ROLE_COUNT);
    MUST(signal->state_count <= DBR_STATES_MAX);
    MUST(isfinite(signal->scale) && isfinite(signal->offset) && isfinite(signal->si_factor));
    MUST(signal->name[0] != '\0');
    for (size_t i = 0; i < signal->state_count; i++)
        MUST(dbr_signal_state(signal, signal->states[i].raw) != NULL);
    for (size_t part = 0; part <= 8; part += 4)
        value_must_hold(signal, data, length < part ? length : part);
}

/* `sound`: verifying found nothing, and so must whoever uses it. */
static void message_must_hold(const struct dbr_definitions *d, const struct dbr_message *m,
                              const uint8_t *data, size_t length, bool sound)
{
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    const struct dbr_message *waits;

    MUST(m->pgn <= 0x3FFFF && m->name[0] != '\0' && m->signal_count <= DBR_SIGNALS_MAX);
    (void)dbr_definitions_find(d, m->pgn, 0, NULL, &waits);
    (void)dbr_definitions_find(d, m->pgn, 0, &(uint64_t){0}, &waits);
    for (size_t i = 0; i < m->signal_count; i++)
        signal_must_hold(&m->signals[i], data, length);
    for (size_t i = 0; i < m->example_count; i++)
        MUST(m->examples[i].length <= DBR_EXAMPLE_BYTES_MAX);
    int proven = message_prove(m, &error);
    MUST(!sound || proven == 0);
}

/* Loading the same again replaces everything and adds nothing. */
static void loaded_must_hold(struct dbr_definitions *d, const char *text, size_t length,
                             bool sound)
{
    size_t count = dbr_definitions_count(d);

    MUST(count <= DBR_DEFINITIONS_MAX);
    for (size_t i = 0; i < count && i < 64; i++)
        message_must_hold(d, dbr_definitions_at(d, i), (const uint8_t *)text, length, sound);
    MUST(dbr_definitions_load_text(d, FILE_NAME, text, length, NULL) == 0);
    MUST(dbr_definitions_count(d) == count);
}

static void definitions_run(const uint8_t *data, size_t size)
{
    const char *text = (const char *)data;
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    struct dbr_definitions *d = calloc(1, sizeof *d); /* without the built-in ones */

    MUST(d != NULL);
    size_t mistakes = verify_text(text, size);
    if (dbr_definitions_load_text(d, FILE_NAME, text, size, &error) == 0) {
        loaded_must_hold(d, text, size, mistakes == 0);
    } else {
        MUST(mistakes > 0);
        MUST(dbr_definitions_count(d) == 0);
        error_must_hold(&error);
    }
    dbr_definitions_free(d);
}

const struct fuzz_target definitions_target = {
    .name = "definitions", .size_max = 4096, .run = definitions_run};
