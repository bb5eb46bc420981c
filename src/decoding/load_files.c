/* load_files.c - definitions from files and directories. */
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

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

static int load_entry(struct dbr_definitions *definitions, const char *directory,
                      const char *name, struct dbr_error *error)
{
    size_t size = strlen(directory) + strlen(name) + 2;
    char *path = malloc(size);

    if (!path)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    snprintf(path, size, "%s/%s", directory, name);
    int result = dbr_definitions_load_file(definitions, path, error);
    free(path);
    return result;
}

int dbr_definitions_load_directory(struct dbr_definitions *definitions, const char *path,
                                   struct dbr_error *error)
{
    struct dirent **entries;
    int count = scandir(path, &entries, is_definition_file, by_name);
    int result = 0;

    if (count < 0)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: %s", path, strerror(errno));
    if (count == 0)
        result = dbr_error_set(error, DBR_ERROR_EMPTY, "%s: holds no .json files", path);
    for (int i = 0; i < count; i++) {
        if (result == 0)
            result = load_entry(definitions, path, entries[i]->d_name, error);
        free(entries[i]);
    }
    free(entries);
    return result;
}
