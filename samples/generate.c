/*
 * generate.c - drawbar-generate: makes the recordings of samples/, or proves that they are as made.
 */
#include <stdio.h>
#include <string.h>

#include "farm/simulation.h"
#include "farm/writers.h"

#define PATH_ROOM 4096

enum status { STATUS_GOOD = 0, STATUS_DIFFERENT = 1, STATUS_UNUSABLE = 2 };

typedef enum status (*action)(const struct farm_scenario *s, const char *directory,
                              const struct farm_bytes *plain);

static bool path_of(char path[PATH_ROOM], const char *directory, const struct farm_scenario *s)
{
    int length = snprintf(path, PATH_ROOM, "%s/%s", directory, s->file);

    return length > 0 && length < PATH_ROOM;
}

static enum status complain(const char *directory, const struct farm_scenario *s, const char *what)
{
    fprintf(stderr, "drawbar-generate: %s/%s: %s\n", directory, s->file, what);
    return STATUS_UNUSABLE;
}

static enum status write_one(const struct farm_scenario *s, const char *directory,
                             const struct farm_bytes *plain)
{
    char path[PATH_ROOM];
    struct farm_bytes packed = {0};
    bool zipped = farm_is_zipped(s);
    bool written = path_of(path, directory, s) && (!zipped || farm_bytes_zip(plain, &packed)) &&
                   farm_bytes_write_file(zipped ? &packed : plain, path);

    farm_bytes_release(&packed);
    return written ? STATUS_GOOD : complain(directory, s, "cannot be written");
}

/*
 * Compares with what the file holds. Of a gzip'd file that is the content:
 * another version of zlib may well pack the same bytes differently.
 */
static enum status check_one(const struct farm_scenario *s, const char *directory,
                             const struct farm_bytes *plain)
{
    char path[PATH_ROOM];
    struct farm_bytes found = {0};
    enum status status = STATUS_GOOD;

    if (!path_of(path, directory, s) || !farm_bytes_read_file(&found, path)) {
        status = complain(directory, s, "cannot be read");
    } else if (found.length != plain->length ||
               memcmp(found.data, plain->data, plain->length) != 0) {
        complain(directory, s, "differs from what its scenario gives");
        status = STATUS_DIFFERENT;
    }
    farm_bytes_release(&found);
    return status;
}

static enum status make_one(const struct farm_scenario *s, const char *directory, action act)
{
    struct farm_recording recording = {0};
    struct farm_bytes plain = {0};
    enum status status;

    if (farm_simulate(s, &recording))
        farm_write(s, &recording, &plain);
    if (plain.length > 0 && !plain.failed)
        status = act(s, directory, &plain);
    else
        status = complain(directory, s, "the simulation ran out of memory");
    farm_bytes_release(&plain);
    farm_recording_release(&recording);
    return status;
}

static enum status make_all(const char *directory, action act)
{
    enum status worst = STATUS_GOOD;

    for (size_t i = 0; i < farm_scenario_count; i++) {
        enum status status = make_one(&farm_scenarios[i], directory, act);
        worst = status > worst ? status : worst;
    }
    return worst;
}

static enum status make_named(const char *file, const char *directory)
{
    for (size_t i = 0; i < farm_scenario_count; i++)
        if (strcmp(farm_scenarios[i].file, file) == 0)
            return make_one(&farm_scenarios[i], directory, write_one);
    fprintf(stderr, "drawbar-generate: no scenario makes %s; see --list\n", file);
    return STATUS_UNUSABLE;
}

static enum status list(void)
{
    for (size_t i = 0; i < farm_scenario_count; i++)
        puts(farm_scenarios[i].file);
    return STATUS_GOOD;
}

static enum status usage(FILE *out, enum status status)
{
    fputs("drawbar-generate --all DIR         write every demo recording\n"
          "drawbar-generate --only FILE DIR   write one of them\n"
          "drawbar-generate --check DIR       exit 1 where a recording differs from its scenario\n"
          "drawbar-generate --list            name them\n",
          out);
    return status;
}

static enum status run(int argc, char **argv)
{
    const char *option = argc > 1 ? argv[1] : "";

    if (argc == 3 && strcmp(option, "--all") == 0)
        return make_all(argv[2], write_one);
    if (argc == 3 && strcmp(option, "--check") == 0)
        return make_all(argv[2], check_one);
    if (argc == 4 && strcmp(option, "--only") == 0)
        return make_named(argv[2], argv[3]);
    if (argc == 2 && strcmp(option, "--list") == 0)
        return list();
    if (argc == 2 && strcmp(option, "--help") == 0)
        return usage(stdout, STATUS_GOOD);
    return usage(stderr, STATUS_UNUSABLE);
}

int main(int argc, char **argv)
{
    return (int)run(argc, argv);
}
