/* definitions_once.c - see definitions_once.h. */
#include "fuzz/definitions_once.h"

#include "fuzz/target.h"

/* Loading them takes longer than anything else, and they are only read. */
const struct dbr_definitions *definitions_once(void)
{
    static struct dbr_definitions *definitions;

    if (!definitions)
        definitions = dbr_definitions_new(NULL);
    MUST(definitions != NULL);
    return definitions;
}
