/*
 * compare.c - our DDIs against an export of the dictionary, given as lines of number,
 * resolution, unit and name between tabs. See run.
 *
 * Editions differ: what the export does not hold is counted, and no failure.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "drawbar/ddi.h"
#include "tracking/process_roles.h"

#define DDI_COUNT 65536u
#define NAME_SIZE 96

struct entry {
    bool there;
    double resolution;
    char unit[16], name[NAME_SIZE];
};

static struct entry dictionary[DDI_COUNT];
static unsigned passed, failed;

static void check(bool holds, unsigned number, const char *what, const char *ours,
                  const char *theirs)
{
    if (holds) {
        passed++;
        return;
    }
    failed++;
    printf("not ok: DDI %u, %s: %s here, %s there\n", number, what, ours, theirs);
}

static bool read_dictionary(const char *path)
{
    FILE *file = fopen(path, "r");
    char line[512];
    unsigned count = 0;

    while (file && fgets(line, sizeof line, file)) {
        char *resolution = strchr(line, '\t');
        char *unit = resolution ? strchr(resolution + 1, '\t') : NULL;
        char *name = unit ? strchr(unit + 1, '\t') : NULL;
        unsigned long number = strtoul(line, NULL, 10);
        if (!name || number >= DDI_COUNT)
            continue;
        struct entry *e = &dictionary[number];
        *name = '\0';
        e->there = true;
        e->resolution = strtod(resolution + 1, NULL);
        snprintf(e->unit, sizeof e->unit, "%s", unit + 1);
        snprintf(e->name, sizeof e->name, "%.*s", (int)strcspn(name + 1, "\n"), name + 1);
        count++;
    }
    if (file)
        fclose(file);
    return count > 500; /* the dictionary has more than 600 */
}

/* Our spelling of the units of the export. */
static const struct {
    char theirs[12], ours[12];
} spellings[] = {
    {"n.a.", ""},          {"#", ""},
    {"0.00%", "%"},        {"mm³/m²", "mm3/m2"},
    {"mg/m²", "mg/m2"},    {"ml/m²", "ml/m2"},
    {"/m²", "1/m2"},       {"mm³/m³", "mm3/m3"},
    {"mm³/kg", "mm3/kg"},  {"mm³/s", "mm3/s"},
    {"/s", "1/s"},         {"m²", "m2"},
    {"mm²/s", "mm2/s"},    {"r/min", "1/min"},
};

static const char *our_unit(const char *theirs)
{
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++)
        if (strcmp(spellings[i].theirs, theirs) == 0)
            return spellings[i].ours;
    return theirs;
}

/* Names are our own, but which of the usual group it is must agree. */
static const struct {
    char theirs[12], ours[12]; /* the export has "MaximumMass" at one place */
} kinds[] = {
    {"Setpoint", "set-point "}, {"Actual", "actual "},   {"Default", "default "},
    {"Minimum", "minimum "},    {"Maximum", "maximum "}, {"Lifetime", "lifetime "},
    {"Average", "average "},
};

static void check_kind(const struct dbr_ddi *ddi, const struct entry *e)
{
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        bool theirs = strncmp(e->name, kinds[i].theirs, strlen(kinds[i].theirs)) == 0;
        bool ours = strncmp(ddi->name, kinds[i].ours, strlen(kinds[i].ours)) == 0;
        if (ours || (theirs && strstr(ddi->name, "actual")))
            check(theirs, ddi->number, "kind", ddi->name, e->name);
    }
}

/* The sections that a set of states is for stand in the name: "(17-32)", "17 to 32". */
static void check_sections(const struct dbr_ddi *ddi, const struct entry *e)
{
    const char *theirs = strchr(e->name, '('), *ours = strstr(ddi->name, "sections ");
    unsigned first, last, our_first, our_last;

    if (!ours || sscanf(ours, "sections %u to %u", &our_first, &our_last) != 2)
        return;
    bool read = theirs && sscanf(theirs, "(%u-%u)", &first, &last) == 2;
    check(read && first == our_first && last == our_last, ddi->number, "sections", ddi->name,
          e->name);
}

static unsigned check_table(void)
{
    unsigned missing = 0;

    for (size_t i = 0; i < dbr_ddi_count(); i++) {
        const struct dbr_ddi *ddi = dbr_ddi_at(i);
        const struct entry *e = &dictionary[ddi->number];
        char ours[32], theirs[32];
        if (!e->there) {
            missing++;
            continue;
        }
        snprintf(ours, sizeof ours, "%g", ddi->resolution);
        snprintf(theirs, sizeof theirs, "%g", e->resolution);
        check(fabs(ddi->resolution / e->resolution - 1) < 1e-9, ddi->number, "resolution", ours,
              theirs);
        check(strcmp(ddi->unit, our_unit(e->unit)) == 0, ddi->number, "unit", ddi->unit, e->unit);
        check_kind(ddi, e);
        check_sections(ddi, e);
    }
    return missing;
}

/* What a unit of a quantity with a role is in SI units (cubic metres, kilograms, per second). */
static double si_of_unit(const char *unit)
{
    static const struct {
        char unit[12];
        double factor;
    } units[] = {{"mm3/m2", 1e-9}, {"ml/m2", 1e-6},      {"mg/m2", 1e-6},
                 {"1/m2", 1},      {"1/min", 1.0 / 60},  {"mm/s", 1e-3}};

    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strcmp(units[i].unit, unit) == 0)
            return units[i].factor;
    return (double)NAN;
}

/* How the name of a DDI with this role begins in the export, and a word that it holds. */
static const struct {
    enum dbr_role role;
    char begins[20], holds[20];
    bool quantity;
} roles[] = {
    {DBR_ROLE_RATE_SETPOINT, "Setpoint ", " Rate", true},
    {DBR_ROLE_RATE_ACTUAL, "Actual ", " Rate", true},
    {DBR_ROLE_METER_SPEED, "Actual ", "Revolutions", true},
    {DBR_ROLE_SPEED_IMPLEMENT, "Actual ", "Speed", true},
    {DBR_ROLE_WORK_STATE, "Actual ", "Work State", false},
    {DBR_ROLE_WORK_SETPOINT, "Setpoint ", "Work State", false},
    {DBR_ROLE_SECTIONS_ACTUAL, "Actual Condensed", "Work State (", false},
    {DBR_ROLE_SECTIONS_SETPOINT, "Setpoint Condensed", "Work State (", false},
};

static void check_role(unsigned number, const struct role_value *v)
{
    const struct entry *e = &dictionary[number];
    char ours[32], theirs[32];

    for (size_t i = 0; i < sizeof roles / sizeof roles[0]; i++) {
        if (roles[i].role != v->role)
            continue;
        check(e->there && strncmp(e->name, roles[i].begins, strlen(roles[i].begins)) == 0 &&
                  strstr(e->name, roles[i].holds),
              number, "role", dbr_role_name(v->role), e->name);
        if (!roles[i].quantity)
            return;
        double si = e->resolution * si_of_unit(our_unit(e->unit));
        snprintf(ours, sizeof ours, "%g", v->si);
        snprintf(theirs, sizeof theirs, "%g", si);
        check(fabs(v->si / si - 1) < 1e-9, number, "SI value of a step", ours, theirs);
        return;
    }
    check(false, number, "role", dbr_role_name(v->role), "no rule");
}

static unsigned check_roles(void)
{
    unsigned found = 0;

    for (unsigned number = 0; number < DDI_COUNT; number++) {
        struct dbr_process_data data = {
            .command = DBR_PROCESS_VALUE, .ddi = (uint16_t)number, .value = 1};
        struct role_value v;
        if (!process_role(&data, &v))
            continue;
        check_role(number, &v);
        found++;
    }
    return found;
}

int main(int argc, char **argv)
{
    if (argc != 2 || !read_dictionary(argv[1])) {
        printf("not ok: no dictionary to compare with\n0 passed, 1 failed\n");
        return 1;
    }
    unsigned missing = check_table(), with_role = check_roles();
    check(with_role > 0, 0, "roles", "none", "some");
    printf("%zu DDIs, %u with a role; %u are not in this edition of the dictionary\n",
           dbr_ddi_count(), with_role, missing);
    printf("%u passed, %u failed\n", passed, failed);
    return failed > 0;
}
