/* number_list.c - see number_list.h. */
#include "commands/number_list.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#include "commands/commands.h"

/* One number at `*at`, decimal or with 0x; moves on behind it. False where there is none. */
static bool take_number(const char **at, uint32_t most, uint32_t *number)
{
    bool hex = (*at)[0] == '0' && ((*at)[1] == 'x' || (*at)[1] == 'X');
    const char *digits = *at + (hex ? 2 : 0);
    char *end;

    if (hex ? !isxdigit((unsigned char)*digits) : !isdigit((unsigned char)*digits))
        return false;
    unsigned long value = strtoul(digits, &end, hex ? 16 : 10);
    if (value > most)
        return false;
    *number = (uint32_t)value;
    *at = end;
    return true;
}

static bool take_range(const char **at, uint32_t most, uint32_t *low, uint32_t *high)
{
    if (!take_number(at, most, low))
        return false;
    *high = *low;
    if (**at != '-')
        return true;
    ++*at;
    return take_number(at, most, high) && *low <= *high;
}

int number_list_read(struct number_list *list, const struct option_values *values,
                     const char *name, uint32_t most)
{
    const char *text = option_value(values, name);
    const char *at = text;

    list->count = 0;
    while (at) {
        uint32_t low, high;
        if (!take_range(&at, most, &low, &high) || (*at != ',' && *at != '\0')) {
            complain("--%s %s: expected numbers from 0 to %u, as in 12,0x1F,40-47", name, text,
                     most);
            return -1;
        }
        if (list->count == NUMBER_RANGES_MAX) {
            complain("--%s: more than %u numbers and ranges", name, NUMBER_RANGES_MAX);
            return -1;
        }
        list->ranges[list->count].low = low;
        list->ranges[list->count++].high = high;
        at = *at == ',' ? at + 1 : NULL;
    }
    return 0;
}

bool number_list_has(const struct number_list *list, uint32_t number)
{
    for (size_t i = 0; i < list->count; i++)
        if (number >= list->ranges[i].low && number <= list->ranges[i].high)
            return true;
    return list->count == 0;
}
