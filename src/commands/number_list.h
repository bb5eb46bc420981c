/* number_list.h - lists of numbers on the command line: "65096,0xFE49,65280-65535". */
#ifndef DRAWBAR_COMMANDS_NUMBER_LIST_H
#define DRAWBAR_COMMANDS_NUMBER_LIST_H

#include <stdbool.h>
#include <stdint.h>

#include "commands/options.h"
#include "drawbar/excerpt.h"

#define NUMBER_RANGES_MAX 64u

struct number_list {
    size_t count; /* 0: not given, everything is in it */
    struct dbr_number_range ranges[NUMBER_RANGES_MAX];
};

/* The value of option `name`, numbers up to `most`. 0, or -1 after it complained. */
int number_list_read(struct number_list *list, const struct option_values *values,
                     const char *name, uint32_t most);

/* Whether the list holds a number; one that was not given holds all. */
bool number_list_has(const struct number_list *list, uint32_t number);

#endif
