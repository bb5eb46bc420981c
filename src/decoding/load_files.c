/* load_files.c - definitions from files and directories. */
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "decoding/definition_files.h"
#include "decoding/whole_file.h"
#include "drawbar/definitions.h"

int dbr_definitions_load_file(struct dbr_definitions *definitions, const char *path,
                              struct dbr_error *error)
{
    size_t length;
    char *text = whole_file(path, &length, error);

    if (!text)
        return -1;
    int result = dbr_definitions_load_text(definitions, path, text, length, error);
    free(text);
    return result;
}

static int is_definition_file(const struct dirent *entry)
{
    size_t length = strlen(entry->d_name);
    return length > 5 && entry->d_name[0] != '.' &&
           strcmp(entry->d_name + length - 5, ".json") == 0;
}

static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

/* The caller frees it; NULL where there is no memory. */
static char *join(const char *directory, const char *name)
{
    size_t size = strlen(directory) + strlen(name) + 2;
    char *path = malloc(size);

    if (path)
        snprintf(path, size, "%s/%s", directory, name);
    return path;
}

int definition_files(const char *directory,
                     int (*visit)(void *context, const char *path, struct dbr_error *error),
                     void *context, struct dbr_error *error)
{
    struct dirent **entries;
    int count = scandir(directory, &entries, is_definition_file, by_name);
    int result = 0;

    if (count < 0)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: %s", directory, strerror(errno));
    if (count == 0)
        result = dbr_error_set(error, DBR_ERROR_EMPTY, "%s: holds no .json files", directory);
    for (int i = 0; i < count; i++) {
        char *path = result == 0 ? join(directory, entries[i]->d_name) : NULL;
        if (path)
            result = visit(context, path, error);
        else if (result == 0)
            result = dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
        free(path);
        free(entries[i]);
    }
    free(entries);
    return result;
}

static int load(void *context, const char *path, struct dbr_error *error)
{
    return dbr_definitions_load_file(context, path, error);
}

int dbr_definitions_load_directory(struct dbr_definitions *definitions, const char *path,
                                   struct dbr_error *error)
{
    return definition_files(path, load, definitions, error);
}
