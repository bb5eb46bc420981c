/* load_examples.c - worked examples of a message: bytes and what its signals say. */
#include <string.h>

#include "decoding/loader.h"

static int hex_digit(char c)
{
    static const char digits[] = "0123456789ABCDEFabcdef";
    const char *found = c ? strchr(digits, c) : NULL;

    if (!found)
        return -1;
    return (int)(found - digits) < 16 ? (int)(found - digits) : (int)(found - digits) - 6;
}

static bool load_data(struct loader *l, const struct json_object *o, struct dbr_example *example)
{
    const char *text = NULL;

    if (!json_string(&l->reader, o, "data", JSON_REQUIRED, &text))
        return false;
    size_t digits = strlen(text);
    if (digits % 2 != 0 || digits / 2 > DBR_EXAMPLE_BYTES_MAX)
        return json_fail_member(&l->reader, o, "data", "\"data\" must be whole bytes, at most %u",
                                DBR_EXAMPLE_BYTES_MAX);
    uint8_t *bytes = loader_take(l, digits / 2, 1);
    if (!bytes)
        return false;
    for (size_t i = 0; i < digits; i++) {
        int digit = hex_digit(text[i]);
        if (digit < 0)
            return json_fail_member(&l->reader, o, "data",
                                    "\"data\" must be hexadecimal digits");
        bytes[i / 2] = (uint8_t)(bytes[i / 2] << 4 | digit);
    }
    example->data = bytes;
    example->length = digits / 2;
    return true;
}

/* A text: the name of a status, or the text of a state. */
static bool load_expected_text(const struct dbr_signal *signal, const char *text,
                               struct dbr_expectation *expect)
{
    for (int i = DBR_VALUE_NOT_AVAILABLE; i <= DBR_VALUE_ABSENT; i++)
        if (strcmp(text, dbr_value_status_name((enum dbr_value_status)i)) == 0) {
            expect->status = (enum dbr_value_status)i;
            return true;
        }
    for (size_t i = 0; i < signal->state_count; i++)
        if (strcmp(text, signal->states[i].text) == 0) {
            expect->by_raw = true;
            expect->raw = signal->states[i].raw;
            return true;
        }
    return false;
}

static bool load_expectation(struct loader *l, const struct json_object *o, const cJSON *node,
                             const struct dbr_message *message, struct dbr_expectation *expect)
{
    size_t i = 0;

    while (i < message->signal_count && strcmp(message->signals[i].name, node->string) != 0)
        i++;
    if (i == message->signal_count)
        return json_fail_member(&l->reader, o, node->string, "the message has no signal \"%.60s\"",
                                node->string);
    expect->signal = i;
    expect->status = DBR_VALUE_VALID;
    expect->number = node->valuedouble;
    if (cJSON_IsNumber(node))
        return true;
    if (cJSON_IsString(node) && load_expected_text(&message->signals[i], node->valuestring, expect))
        return true;
    return json_fail_member(&l->reader, o, node->string,
                            "expected is a number, a status (not_available, error, out_of_range, "
                            "absent) or the text of a state");
}

static bool load_expect(struct loader *l, const struct json_object *example_object,
                        const struct dbr_message *message, struct dbr_example *example)
{
    struct json_place place = {example_object->place, "expect", 0};
    struct json_object o = {cJSON_GetObjectItemCaseSensitive(example_object->node, "expect"),
                            &place};
    const cJSON *node;

    if (!cJSON_IsObject(o.node) || cJSON_GetArraySize(o.node) == 0)
        return json_fail(&l->reader, example_object->place,
                         "\"expect\" must be an object with at least one signal");
    struct dbr_expectation *expect =
        loader_take(l, (size_t)cJSON_GetArraySize(o.node), sizeof *expect);
    if (!expect)
        return false;
    cJSON_ArrayForEach(node, o.node)
    {
        if (!load_expectation(l, &o, node, message, &expect[example->expect_count]))
            return false;
        example->expect_count++;
    }
    example->expect = expect;
    return true;
}

static bool load_example(struct loader *l, const struct json_object *o,
                         const struct dbr_message *message, struct dbr_example *example)
{
    static const char *const keys[] = {"data", "expect", "source", NULL};
    const char *source = NULL;

    if (!json_check_object(&l->reader, o, keys) ||
        !json_string(&l->reader, o, "source", JSON_REQUIRED, &source) ||
        !load_data(l, o, example) || !load_expect(l, o, message, example))
        return false;
    example->source = loader_text(l, source);
    return example->source != NULL;
}

bool load_examples(struct loader *l, const struct json_object *o, struct dbr_message *message)
{
    const cJSON *list = NULL, *node;
    size_t count = 0;

    if (!json_array(&l->reader, o, "examples", JSON_OPTIONAL, &list))
        return false;
    struct dbr_example *examples =
        loader_take(l, list ? (size_t)cJSON_GetArraySize(list) : 0, sizeof *examples);
    if (!examples)
        return false;
    cJSON_ArrayForEach(node, list)
    {
        struct loader_element e;
        loader_element_init(&e, o, "examples", count, node);
        if (!load_example(l, &e.object, message, &examples[count]))
            return false;
        count++;
    }
    message->examples = examples;
    message->example_count = count;
    return true;
}
