/*
 * replay.c - plays inputs that are there, without a fuzzer and with any compiler.
 *
 *     drawbar-replay FOLDER...              every file of FOLDER/TARGET, for each target
 *     drawbar-replay --target NAME FILE...  one or a few, to look into a failure
 *     drawbar-replay --list                 targets, and the bytes that an input may have
 *
 * An input that fails ends the program; its name is told on the way down.
 */
#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "fuzz/target.h"

static char playing[4096];

static void tell_input(int signal_number)
{
    (void)!write(STDERR_FILENO, playing, strlen(playing));
    signal(signal_number, SIG_DFL);
    raise(signal_number);
}

/* A copy of its exact size: one byte beyond is one too many for a sanitizer. */
static void play(const struct fuzz_target *target, FILE *file, size_t size)
{
    uint8_t *data = malloc(size > 0 ? size : 1);

    MUST(data && fread(data, 1, size, file) == size);
    target->run(data, size);
    free(data);
}

static bool play_file(const struct fuzz_target *target, const char *path)
{
    FILE *file = fopen(path, "rb");
    long size = file && fseek(file, 0, SEEK_END) == 0 ? ftell(file) : -1;

    if (size < 0) {
        perror(path);
        if (file)
            fclose(file);
        return false;
    }
    snprintf(playing, sizeof playing, "FAIL: target %s, input %s\n", target->name, path);
    rewind(file);
    play(target, file, (size_t)size);
    fclose(file);
    return true;
}

/* How many inputs of a target a folder has. */
static size_t play_folder(const struct fuzz_target *target, const char *folder)
{
    char path[4096];
    struct dirent **entries;
    size_t played = 0;

    snprintf(path, sizeof path, "%s/%s", folder, target->name);
    int count = scandir(path, &entries, NULL, alphasort);
    for (int i = 0; i < count; i++) {
        snprintf(path, sizeof path, "%s/%s/%s", folder, target->name, entries[i]->d_name);
        if (entries[i]->d_name[0] != '.')
            played += play_file(target, path);
        free(entries[i]);
    }
    if (count >= 0)
        free(entries);
    return played;
}

/* A target without any input would prove nothing. */
static int play_folders(char **folders)
{
    size_t passed = 0, failed = 0;

    for (size_t i = 0; i < fuzz_target_count; i++) {
        size_t played = 0;
        for (char **folder = folders; *folder; folder++)
            played += play_folder(fuzz_targets[i], *folder);
        printf("%s: %zu inputs\n", fuzz_targets[i]->name, played);
        failed += played == 0;
        passed += played;
    }
    printf("%zu passed, %zu failed\n", passed, failed);
    return failed > 0;
}

static int list(void)
{
    for (size_t i = 0; i < fuzz_target_count; i++)
        printf("%s %zu\n", fuzz_targets[i]->name, fuzz_targets[i]->size_max);
    return 0;
}

static int play_files(const char *name, char **files)
{
    for (size_t i = 0; i < fuzz_target_count; i++)
        if (strcmp(fuzz_targets[i]->name, name) == 0) {
            size_t failed = 0;
            for (; *files; files++)
                failed += !play_file(fuzz_targets[i], *files);
            return failed > 0;
        }
    fprintf(stderr, "%s: no such target\n", name);
    return 2;
}

int main(int argc, char **argv)
{
    signal(SIGABRT, tell_input);
    signal(SIGSEGV, tell_input);
    if (argc == 2 && strcmp(argv[1], "--list") == 0)
        return list();
    if (argc >= 4 && strcmp(argv[1], "--target") == 0)
        return play_files(argv[2], argv + 3);
    if (argc >= 2 && argv[1][0] != '-')
        return play_folders(argv + 1);
    fprintf(stderr, "usage: drawbar-replay FOLDER... | --target NAME FILE... | --list\n");
    return 2;
}
