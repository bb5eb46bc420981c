/* What the loader makes of sound documents: defaults, all keys, replacement, files, directories. */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "drawbar/definitions.h"
#include "support/proven.h"

#define HEAD                                                                                       \
    "{\"schema\":\"drawbar-messages/1\",\"subject\":\"s\",\"source\":\"the file\",\"messages\":["
#define TAIL "]}"

static struct dbr_definitions *definitions;
static struct dbr_error error;

static void set_up(void)
{
    definitions = dbr_definitions_new(&error);
    cr_assert_not_null(definitions, "%s", error.text);
}

static void tear_down(void)
{
    dbr_definitions_free(definitions);
}

TestSuite(decoding_load, .init = set_up, .fini = tear_down);

static const struct dbr_message *load(const char *text, uint32_t pgn)
{
    cr_assert_eq(dbr_definitions_load_text(definitions, "own.json", text, strlen(text), &error), 0,
                 "%s", error.text);
    return dbr_definitions_find(definitions, pgn, 0, NULL, NULL);
}

Test(decoding_load, what_is_left_out_has_the_stated_default)
{
    const struct dbr_message *m = load(HEAD "{\"pgn\":65280,\"name\":\"m\",\"signals\":["
                                            "{\"name\":\"a\",\"byte\":2,\"bits\":8}]}" TAIL,
                                       65280);
    const struct dbr_signal *a = &m->signals[0];

    cr_expect_eq(m->length, 0);
    cr_expect_eq(m->period_ms, 0);
    cr_expect_eq(m->packing, DBR_PACKING_SINGLE);
    cr_expect_eq(m->when.address, -1);
    cr_expect_eq(m->when.manufacturer_code, -1);
    cr_expect_eq(m->example_count, 0);
    cr_expect_not(m->from_memory);
    cr_expect_str_eq(m->source, "the file");
    cr_expect_str_eq(m->file, "own.json");
    cr_expect_eq(a->first_bit, 8);
    cr_expect_float_eq(a->scale, 1, 0);
    cr_expect_float_eq(a->offset, 0, 0);
    cr_expect_float_eq(a->si_factor, 1, 0);
    cr_expect_str_eq(a->unit, "");
    cr_expect_eq(a->special, DBR_SPECIAL_J1939);
    cr_expect_eq(a->role, DBR_ROLE_NONE);
    cr_expect_not(a->is_signed || a->has_range || a->from_memory);
}

Test(decoding_load, every_key_arrives)
{
    const struct dbr_message *m = load(
        HEAD
        "{\"pgn\":126720,\"name\":\"m\",\"length\":20,\"period_ms\":250,\"packing\":\"fast\","
        "\"source\":\"own\",\"confidence\":\"memory\",\"special\":\"nmea2000\",\"note\":\"n\","
        "\"when\":{\"address\":0},\"signals\":[{\"name\":\"a\",\"spn\":84,\"byte\":3,\"bit\":2,"
        "\"bits\":12,\"scale\":0.5,\"offset\":-3,\"unit\":\"km/h\",\"role\":\"speed.vehicle\","
        "\"states\":{\"0\":\"still\"},\"range\":[-1,5],\"signed\":true,\"note\":\"n\","
        "\"confidence\":\"memory\"},"
        "{\"name\":\"b\",\"byte\":3,\"bits\":8,\"special\":\"none\",\"overlaps\":true}],"
        "\"examples\":[{\"data\":\"0aF0\",\"expect\":{\"b\":\"absent\"},\"source\":\"e\"}]}" TAIL,
        126720);
    const struct dbr_signal *a = &m->signals[0];

    cr_expect_eq(m->length, 20);
    cr_expect_eq(m->period_ms, 250);
    cr_expect_eq(m->packing, DBR_PACKING_FAST);
    cr_expect_eq(m->when.address, 0);
    cr_expect_str_eq(m->source, "own");
    cr_expect(m->from_memory && a->from_memory && a->is_signed && a->has_range);
    cr_expect_eq(a->spn, 84);
    cr_expect_eq(a->first_bit, 17);
    cr_expect_eq(a->bits, 12);
    cr_expect_eq(a->special, DBR_SPECIAL_NMEA2000);
    cr_expect_eq(a->role, DBR_ROLE_SPEED_VEHICLE);
    cr_expect_float_eq(a->si_factor * 36, 10, 1e-12);
    cr_expect_float_eq(a->low, -1, 0);
    cr_expect_float_eq(a->high, 5, 0);
    cr_expect_str_eq(dbr_signal_state(a, 0), "still");
    cr_expect_eq(m->signals[1].special, DBR_SPECIAL_NONE);
    cr_expect_eq(m->examples[0].length, 2);
    cr_expect_eq(m->examples[0].data[0], 0x0A);
    cr_expect_eq(m->examples[0].data[1], 0xF0);
    cr_expect_str_eq(m->examples[0].source, "e");
    cr_expect_eq(message_prove(m, &error), 0);
}

Test(decoding_load, either_signal_may_allow_that_bits_overlap)
{
    cr_expect_not_null(load(HEAD "{\"pgn\":65280,\"name\":\"m\",\"signals\":["
                                 "{\"name\":\"a\",\"byte\":1,\"bits\":16,\"overlaps\":true},"
                                 "{\"name\":\"b\",\"byte\":2,\"bits\":8}]}" TAIL,
                            65280));
}

Test(decoding_load, units_of_roles_become_si)
{
    static const struct {
        char role[16], unit[8];
        double factor;
    } rows[] = {
        {"speed.gnss", "m/s", 1},        {"speed.gnss", "mm/s", 0.001},
        {"speed.gnss", "km/h", 1 / 3.6}, {"speed.gnss", "mph", 0.44704},
        {"distance.wheel", "m", 1},      {"distance.wheel", "mm", 0.001},
        {"distance.wheel", "km", 1000},  {"supply.voltage", "V", 1},
        {"supply.voltage", "mV", 0.001},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char text[600];
        snprintf(text, sizeof text,
                 HEAD "{\"pgn\":65280,\"name\":\"m\",\"signals\":[{\"name\":\"a\",\"byte\":1,"
                      "\"bits\":8,\"role\":\"%s\",\"unit\":\"%s\"}]}" TAIL,
                 rows[i].role, rows[i].unit);
        cr_expect_float_eq(load(text, 65280)->signals[0].si_factor, rows[i].factor, 1e-15, "%s",
                           rows[i].unit);
    }
}

Test(decoding_load, the_same_group_under_the_same_conditions_replaces)
{
    size_t before = dbr_definitions_count(definitions);
    const struct dbr_message *own =
        load(HEAD "{\"pgn\":65096,\"name\":\"mine\",\"signals\":[]}" TAIL, 65096);

    cr_expect_str_eq(own->name, "mine");
    cr_expect_eq(dbr_definitions_count(definitions), before);
    load(HEAD "{\"pgn\":65096,\"name\":\"other\",\"when\":{\"address\":7},\"signals\":[]}" TAIL,
         65096);
    cr_expect_eq(dbr_definitions_count(definitions), before + 1);
}

Test(decoding_load, a_document_with_a_flaw_adds_nothing)
{
    static const char text[] =
        HEAD "{\"pgn\":65096,\"name\":\"mine\",\"signals\":[]},{\"pgn\":1}" TAIL;

    cr_expect_eq(dbr_definitions_load_text(definitions, "own.json", text, strlen(text), &error),
                 -1);
    cr_expect_str_neq(dbr_definitions_find(definitions, 65096, 0, NULL, NULL)->name, "mine");
}

Test(decoding_load, definitions_stand_in_the_order_of_their_groups)
{
    load(HEAD
         "{\"pgn\":65281,\"name\":\"m\",\"signals\":[]},{\"pgn\":0,\"name\":\"m\",\"signals\":[]},"
         "{\"pgn\":262143,\"name\":\"m\",\"signals\":[]}" TAIL,
         0);
    for (size_t i = 1; i < dbr_definitions_count(definitions); i++)
        cr_expect_leq(dbr_definitions_at(definitions, i - 1)->pgn,
                      dbr_definitions_at(definitions, i)->pgn);
}

Test(decoding_load, more_definitions_than_the_limit)
{
    size_t size = 96 * (DBR_DEFINITIONS_MAX + 2), used = 0,
           before = dbr_definitions_count(definitions);
    char *text = malloc(size);

    used += (size_t)snprintf(text, size, HEAD);
    for (unsigned i = 0; i < DBR_DEFINITIONS_MAX; i++)
        used += (size_t)snprintf(text + used, size - used,
                                 "%s{\"pgn\":%u,\"name\":\"m\",\"when\":{\"address\":%u},"
                                 "\"signals\":[]}",
                                 i ? "," : "", 0x2F000 + i % 4096, i / 4096);
    snprintf(text + used, size - used, TAIL);
    cr_expect_eq(dbr_definitions_load_text(definitions, "many.json", text, strlen(text), &error),
                 -1);
    cr_expect_eq(error.code, DBR_ERROR_LIMIT);
    cr_expect_str_eq(error.text, "many.json: more than 8192 message definitions");
    cr_expect_eq(dbr_definitions_count(definitions), before);
    free(text);
}

/* Files: a directory of its own for each test. */
static char directory[] = "/tmp/drawbar-load-XXXXXX";

static void make_directory(void)
{
    set_up();
    cr_assert_not_null(mkdtemp(directory));
}

static void path_of(const char *name, char *path, size_t size)
{
    snprintf(path, size, "%s/%s", directory, name);
}

static void write_file(const char *name, const char *text)
{
    char path[200];

    path_of(name, path, sizeof path);
    FILE *file = fopen(path, "wb");
    cr_assert_not_null(file);
    fputs(text, file);
    fclose(file);
}

static void remove_directory(void)
{
    static const char *const names[] = {"b.json",  "a.json", "B.json", ".json",
                                        ".a.json", "a.txt",  "json"};
    char path[200];

    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        path_of(names[i], path, sizeof path);
        unlink(path);
    }
    rmdir(directory);
    tear_down();
}

TestSuite(decoding_load_files, .init = make_directory, .fini = remove_directory);

#define MINE(name) HEAD "{\"pgn\":65280,\"name\":\"" name "\",\"signals\":[]}" TAIL "\n"

Test(decoding_load_files, the_last_name_in_byte_order_replaces)
{
    write_file("b.json", MINE("from b"));
    write_file("a.json", MINE("from a"));
    write_file("B.json", MINE("from B"));
    cr_assert_eq(dbr_definitions_load_directory(definitions, directory, &error), 0, "%s",
                 error.text);

    const struct dbr_message *m = dbr_definitions_find(definitions, 65280, 0, NULL, NULL);
    char path[200];
    path_of("b.json", path, sizeof path);
    cr_expect_str_eq(m->name, "from b");
    cr_expect_str_eq(m->file, path);
}

Test(decoding_load_files, other_and_hidden_files_are_left_alone)
{
    char expected[200];

    write_file("a.txt", "no JSON");
    write_file(".a.json", "no JSON");
    write_file(".json", "no JSON");
    write_file("json", "no JSON");
    cr_expect_eq(dbr_definitions_load_directory(definitions, directory, &error), -1);
    snprintf(expected, sizeof expected, "%s: holds no .json files", directory);
    cr_expect_eq(error.code, DBR_ERROR_EMPTY);
    cr_expect_str_eq(error.text, expected);
}

Test(decoding_load_files, a_flaw_in_a_directory_names_its_file)
{
    char expected[200];

    write_file("a.json", MINE("from a"));
    write_file("b.json", "[]\n");
    cr_expect_eq(dbr_definitions_load_directory(definitions, directory, &error), -1);
    snprintf(expected, sizeof expected, "%s/b.json:1:1: an object { } must stand here\n[]\n^",
             directory);
    cr_expect_str_eq(error.text, expected);
}

Test(decoding_load_files, what_cannot_be_opened)
{
    char path[200], expected[300];

    path_of("none", path, sizeof path);
    snprintf(expected, sizeof expected, "%s: No such file or directory", path);
    cr_expect_eq(dbr_definitions_load_file(definitions, path, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_OPEN);
    cr_expect_str_eq(error.text, expected);
    cr_expect_eq(dbr_definitions_load_directory(definitions, path, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_OPEN);
    cr_expect_str_eq(error.text, expected);
    cr_expect_eq(dbr_definitions_load_file(definitions, directory, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_READ);
}

Test(decoding_load_files, a_file_may_be_large_but_not_larger)
{
    char path[200];

    write_file("a.json", MINE("from a"));
    path_of("a.json", path, sizeof path);
    cr_assert_eq(truncate(path, DBR_DEFINITION_FILE_MAX + 1), 0);
    cr_expect_eq(dbr_definitions_load_file(definitions, path, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_LIMIT);
}

Test(decoding_load_files, an_empty_file_is_no_json)
{
    char path[200];

    write_file("a.json", "");
    path_of("a.json", path, sizeof path);
    cr_expect_eq(dbr_definitions_load_file(definitions, path, &error), -1);
    cr_expect_eq(error.code, DBR_ERROR_SYNTAX);
}
