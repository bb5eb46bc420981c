/* load_examples.c - worked examples of a message: bytes and what its signals say. */
#include <math.h>
#include <string.h>

#include "decoding/loader.h"
#include "reading/digits.h"

#define WORDS_MAX 240u

static bool parse_hex(const char *text, uint8_t *out)
{
    for (size_t i = 0; text[i]; i++) {
        int digit = digits_hex_value(text[i]);
        if (digit < 0)
            return false;
        out[i / 2] = (uint8_t)(out[i / 2] << 4 | digit);
    }
    return true;
}

static bool load_data(struct loader *l, const cJSON *o, struct dbr_example *example)
{
    const char *text = NULL;
    size_t most = l->room ? l->room : DBR_EXAMPLE_BYTES_MAX;

    if (!json_string(&l->reader, o, "data", JSON_REQUIRED, &text))
        return false;
    const cJSON *node = cJSON_GetObjectItemCaseSensitive(o, "data");
    size_t digits = strlen(text);
    if (digits % 2 != 0 || digits / 2 > most)
        return json_fail(&l->reader, node, "\"data\" must be 1 to %zu whole bytes, two digits each",
                         most);
    uint8_t *bytes = loader_take(l, digits / 2, 1);
    if (!bytes)
        return false;
    if (!parse_hex(text, bytes))
        return json_fail(&l->reader, node, "\"data\" must be hexadecimal digits without blanks");
    example->data = bytes;
    example->length = digits / 2;
    return true;
}

static void expect_raw(struct dbr_expectation *expect, uint64_t raw)
{
    expect->by_raw = true;
    expect->raw = raw;
}

/* The text of a state, or else the name of a status. */
static bool load_expected_text(const struct dbr_signal *signal, const char *text,
                               struct dbr_expectation *expect)
{
    for (size_t i = 0; i < signal->state_count; i++)
        if (strcmp(text, signal->states[i].text) == 0) {
            expect_raw(expect, signal->states[i].raw);
            return true;
        }
    for (int i = DBR_VALUE_NOT_AVAILABLE; i <= DBR_VALUE_ABSENT; i++)
        if (strcmp(text, dbr_value_status_name((enum dbr_value_status)i)) == 0) {
            expect->status = (enum dbr_value_status)i;
            return true;
        }
    return false;
}

/* Of a signal that is all states the raw value; of any other its scaled value. */
static void load_expected_number(const struct dbr_signal *signal, double number,
                                 struct dbr_expectation *expect)
{
    bool plain = signal->scale >= 1 && signal->scale <= 1 && fabs(signal->offset) <= 0;

    expect->number = number;
    if (signal->state_count > 0 && plain && number >= 0 && number < 0x1p53)
        expect_raw(expect, (uint64_t)number);
}

/* Signals, or the name of one, are missing themselves: an expectation may be meant for them. */
static bool lacks_names(const struct dbr_message *message)
{
    for (size_t i = 0; i < message->signal_count; i++)
        if (message->signals[i].name[0] == '\0')
            return true;
    return !message->signals;
}

static bool load_expectation(struct loader *l, const cJSON *node,
                             const struct dbr_message *message, struct dbr_expectation *expect)
{
    size_t i = 0;

    while (i < message->signal_count && strcmp(message->signals[i].name, node->string) != 0)
        i++;
    if (i == message->signal_count && lacks_names(message))
        return false;
    if (i == message->signal_count)
        return json_fail_key(&l->reader, node, "the message has no signal \"%.60s\"",
                             node->string);
    expect->signal = i;
    expect->status = DBR_VALUE_VALID;
    if (cJSON_IsNumber(node) && isfinite(node->valuedouble)) {
        load_expected_number(&message->signals[i], node->valuedouble, expect);
        return true;
    }
    if (cJSON_IsString(node) && load_expected_text(&message->signals[i], node->valuestring, expect))
        return true;
    if (l->broken[i])
        return false; /* its states may be what is missing here */
    return json_fail(&l->reader, node,
                     "expected is a number, the text of a state, or not_available, error, "
                     "out_of_range or absent");
}

/* Works the example again, where nothing stands in the way. */
static void prove(struct loader *l, const cJSON *node, const struct dbr_message *message,
                  const struct dbr_example *example, const struct dbr_expectation *expect)
{
    char words[WORDS_MAX];

    if (!l->strict || !example->data || l->broken[expect->signal])
        return;
    if (prove_expectation(message, example, expect, words, sizeof words))
        json_fail(&l->reader, node, "this example does not hold: %s", words);
}

static void load_expect(struct loader *l, const cJSON *o, const struct dbr_message *message,
                        struct dbr_example *example)
{
    const cJSON *map = NULL, *node;
    bool apart = message->read_apart && message->signal_count == 0; /* the program's tests judge */

    if (!json_member(&l->reader, o, "expect", apart ? JSON_OPTIONAL : JSON_REQUIRED, &map) || !map)
        return;
    if (!json_check_map(&l->reader, map, DBR_SIGNALS_MAX))
        return;
    struct dbr_expectation *expect =
        loader_take(l, (size_t)cJSON_GetArraySize(map), sizeof *expect);
    if (!expect)
        return;
    cJSON_ArrayForEach(node, map)
    {
        struct dbr_expectation *next = &expect[example->expect_count];
        if (!load_expectation(l, node, message, next))
            continue;
        prove(l, node, message, example, next);
        example->expect_count++;
    }
    example->expect = expect;
}

static void load_example(struct loader *l, const cJSON *o, const struct dbr_message *message,
                         struct dbr_example *example)
{
    static const char *const keys[] = {"data", "expect", "source", NULL};
    const char *source = "";

    json_check_object(&l->reader, o, keys);
    if (!cJSON_IsObject(o))
        return;
    json_string(&l->reader, o, "source", JSON_REQUIRED, &source);
    load_data(l, o, example);
    load_expect(l, o, message, example);
    example->source = loader_text(l, source);
}

/* A definition that nothing proves is a guess. */
static void check_examples(struct loader *l, const cJSON *o, const struct dbr_message *message,
                           const cJSON *list)
{
    const cJSON *signals = cJSON_GetObjectItemCaseSensitive(o, "signals");

    if (cJSON_IsArray(signals) && cJSON_GetArraySize(signals) == 0 && !message->read_apart)
        json_fail(&l->reader, signals,
                  "no signals: add some, or say in name_only why a name is all that is known");
    else if (cJSON_GetArraySize(list) == 0)
        json_fail(&l->reader, list ? list : o,
                  "no example proves this message: add data, what it says, and where that is from");
}

void load_examples(struct loader *l, const cJSON *o, struct dbr_message *message)
{
    const cJSON *list = NULL, *node;
    size_t count = 0;

    if (!json_array(&l->reader, o, "examples", JSON_OPTIONAL, &list))
        return;
    if (l->strict && !message->name_only)
        check_examples(l, o, message, list);
    struct dbr_example *examples =
        loader_take(l, list ? (size_t)cJSON_GetArraySize(list) : 0, sizeof *examples);
    if (!examples)
        return;
    cJSON_ArrayForEach(node, list)
    {
        load_example(l, node, message, &examples[count]);
        count++;
    }
    message->examples = examples;
    message->example_count = count;
    l->examples += count;
}
