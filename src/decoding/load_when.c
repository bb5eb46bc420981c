/* load_when.c - see load_when.h. Widths of the NAME's fields: ISO 11783-5 4.3. */
#include "decoding/load_when.h"

const char *const when_keys[] = {
    "address",      "manufacturer_code", "function",          "device_class", "industry_group",
    "identity",     "ecu_instance",      "function_instance", "device_class_instance", NULL};

bool when_read(struct json_reader *r, const cJSON *o, struct dbr_when *when)
{
    static const long highest[] = {253, 2047, 255, 127, 7, 0x1FFFFF, 7, 31, 15};
    int32_t *const members[] = {&when->address,      &when->manufacturer_code, &when->function,
                                &when->device_class, &when->industry_group,    &when->identity,
                                &when->ecu_instance, &when->function_instance,
                                &when->device_class_instance};

    bool sound = true;

    for (size_t i = 0; when_keys[i]; i++) {
        long value = -1;
        sound = json_integer(r, o, when_keys[i], JSON_OPTIONAL, 0, highest[i], &value) && sound;
        *members[i] = (int32_t)value;
    }
    return sound;
}

bool load_when(struct json_reader *r, const cJSON *o, struct dbr_when *when)
{
    *when = (struct dbr_when){-1, -1, -1, -1, -1, -1, -1, -1, -1};
    return !o || (json_check_object(r, o, when_keys) && when_read(r, o, when));
}
