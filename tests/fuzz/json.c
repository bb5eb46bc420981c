/*
 * json.c - what the parser of JSON refuses is told from what it had no memory for.
 *
 * Nothing is out of memory here, so a text that the parser refuses must not be called sound: who
 * made the file would be sent to look for memory.
 */
#include <cjson/cJSON.h>

#include "decoding/json_sound.h"
#include "fuzz/target.h"

static void json_run(const uint8_t *data, size_t size)
{
    cJSON *parsed = cJSON_ParseWithLength((const char *)data, size);

    MUST(parsed || json_soundness((const char *)data, size) != JSON_SOUND);
    cJSON_Delete(parsed);
}

const struct fuzz_target json_target = {.name = "json", .size_max = 256, .run = json_run};
