/* main.c - drawbar-generate: makes the demo recordings, or checks that they are as made. */
#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "record.h"

#define PATH_SIZE 4096u

static int usage(void)
{
    fputs("usage: drawbar-generate --all DIR     make all recordings in DIR\n"
          "       drawbar-generate --check DIR   compare those in DIR with what would be made\n"
          "       drawbar-generate --list\n",
          stderr);
    return 2;
}

static void list(void)
{
    for (size_t i = 0; i < scenario_count; i++)
        printf("%-26s %s\n", scenarios[i].file, scenarios[i].shows);
}

static int make(const struct scenario *scenario, const char *directory)
{
    char path[PATH_SIZE];

    snprintf(path, sizeof path, "%s/%s", directory, scenario->file);
    if (record_scenario(scenario, path) == 0)
        return 0;
    fprintf(stderr, "drawbar-generate: %s: %s\n", path, strerror(errno));
    return -1;
}

static bool same_content(const char *a, const char *b)
{
    FILE *x = fopen(a, "rb"), *y = fopen(b, "rb");
    bool same = x && y;
    int c = 0;

    while (same && c != EOF) {
        c = getc(x);
        same = c == getc(y);
    }
    if (x)
        fclose(x);
    if (y)
        fclose(y);
    return same;
}

/* Makes a recording anew, beside nobody's files, and compares. */
static int check(const struct scenario *scenario, const char *directory)
{
    char path[PATH_SIZE], made[] = "/tmp/drawbar-generate-XXXXXX";
    int descriptor = mkstemp(made);

    if (descriptor < 0)
        return -1;
    close(descriptor);
    snprintf(path, sizeof path, "%s/%s", directory, scenario->file);
    bool same = record_scenario(scenario, made) == 0 && same_content(path, made);
    unlink(made);
    if (!same)
        fprintf(stderr, "drawbar-generate: %s is not what the generator makes\n", path);
    return same ? 0 : -1;
}

int main(int argc, char **argv)
{
    int failed = 0;

    if (argc == 2 && strcmp(argv[1], "--list") == 0) {
        list();
        return 0;
    }
    if (argc != 3 || (strcmp(argv[1], "--all") != 0 && strcmp(argv[1], "--check") != 0))
        return usage();
    for (size_t i = 0; i < scenario_count; i++)
        failed += (argv[1][2] == 'a' ? make : check)(&scenarios[i], argv[2]) < 0;
    return failed ? 1 : 0;
}
