/*
 * Messages that the program reads apart from their signals: what it makes of their examples.
 * A definition that is read apart and has no row here fails.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/printing.h"

/* What follows the name of the message, as text. */
static const struct row {
    uint32_t pgn;
    const char *first_example;
} rows[] = {
    {51968, ", value, element 18: actual work state 1"},
    {57088, ": Broadcast order stop"},
    {64653, ": Product identification code 4711, Product brand farm, "
            "Product model granule spreader"},
    {64654, ": Number of functionalities 2, Functionality minimum control function, generation 1, "
            "Functionality task controller with sections (client), generation 1"},
    {64965, ": ECU part number BC-24, ECU serial number 000117, ECU location frame, "
            "ECU type belt controller, ECU hardware B"},
    {65226, ": Trouble code SPN 159 FMI 3: SPN not in the definitions: "
            "voltage high or short to supply, occurrence count 1, Protect lamp"},
    {65227, ": Trouble code SPN 459511 FMI 3: SPN not in the definitions: "
            "voltage high or short to supply, occurrence count 1, Protect lamp"},
    {65242, ": Number of software identification fields 2, Software identification 2.1, "
            "Software identification 0.9"},
    {65259, ": Component model GS-24, Component serial number 4071"},
    {126996, ": NMEA 2000 version 2.100, Product code 4711, Certification level 1, "
             "Load equivalency 150 mA, Product information: model Heading sensor, "
             "Product information: software 2.14.0, Product information: model version B, "
             "Product information: serial number 000123"},
};

static char *as_text(const struct dbr_definitions *definitions, const struct dbr_message *m,
                     const struct dbr_example *example)
{
    const struct dbr_recording_info info = {.interface_count = 1, .interfaces = {"can0"}};
    const struct dbr_printing_options options = {.info = &info};
    const struct dbr_seen seen = {.kind = DBR_SEEN_MESSAGE,
                                  .id = {.pgn = m->pgn, .source = 128, .destination = 255},
                                  .data = example->data,
                                  .length = example->length,
                                  .message = m};
    struct dbr_error error = {0};
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    struct dbr_printing *printing = dbr_printing_new(out, definitions, &options, &error);

    cr_assert(printing, "%s", error.text);
    cr_assert(dbr_printing_add(printing, &seen));
    cr_assert_eq(dbr_printing_flush(printing, &error), 0);
    dbr_printing_free(printing);
    fclose(out);
    return text;
}

static const struct row *row_of(uint32_t pgn)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if (rows[i].pgn == pgn)
            return &rows[i];
    return NULL;
}

static void expect_read(const struct dbr_definitions *definitions, const struct dbr_message *m)
{
    const struct row *row = row_of(m->pgn);
    char *text = as_text(definitions, m, &m->examples[0]);
    char wanted[512];

    cr_assert(row, "PGN %u is read apart: what is its example to say?", m->pgn);
    snprintf(wanted, sizeof wanted, "%s%s", m->name, row->first_example);
    cr_expect(strstr(text, wanted), "PGN %u: %s", m->pgn, text);
    free(text);
}

Test(reference_read_apart, examples_say_what_the_program_reads)
{
    struct dbr_error error = {0};
    struct dbr_definitions *definitions = dbr_definitions_new(&error);
    size_t count = 0;

    cr_assert(definitions, "%s", error.text);
    for (size_t i = 0; i < dbr_definitions_count(definitions); i++) {
        const struct dbr_message *m = dbr_definitions_at(definitions, i);
        if (!m->read_apart)
            continue;
        cr_assert_gt(m->example_count, 0, "PGN %u", m->pgn);
        expect_read(definitions, m);
        count++;
    }
    cr_expect_eq(count, sizeof rows / sizeof rows[0], "a row that nothing is read by");
    dbr_definitions_free(definitions);
}
