/* upload.c - see upload.h. */
#include "commands/upload.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* The longest way into a file that tells an archive: a tape archive, after the first header's name
 * and numbers (POSIX.1, ustar: magic at 257). */
#define HEAD_BYTES 512u

static const struct {
    const char *name;
    size_t at, length;
    const char *magic;
} archives[] = {
    /* Magic bytes from memory; that of ustar from POSIX.1. gzip is read, so it is not here. */
    {"zip", 0, 4, "PK\x03\x04"},
    {"zip", 0, 4, "PK\x05\x06"}, /* an empty one */
    {"7z", 0, 6, "7z\xBC\xAF\x27\x1C"},
    {"rar", 0, 6, "Rar!\x1A\x07"},
    {"xz", 0, 6, "\xFD" "7zXZ\0"},
    {"bzip2", 0, 3, "BZh"},
    {"zstd", 0, 4, "\x28\xB5\x2F\xFD"},
    {"lz4", 0, 4, "\x04\x22\x4D\x18"},
    {"tar", 257, 5, "ustar"},
};

static const char *archive_name(const char *head, size_t length)
{
    for (size_t i = 0; i < sizeof archives / sizeof archives[0]; i++)
        if (archives[i].at + archives[i].length <= length &&
            memcmp(head + archives[i].at, archives[i].magic, archives[i].length) == 0)
            return archives[i].name;
    return NULL;
}

/* Standard input and pipes give their bytes only once. */
static bool is_file(const char *path)
{
    struct stat status;
    return strcmp(path, "-") != 0 && stat(path, &status) == 0 && S_ISREG(status.st_mode);
}

int upload_allowed(const char *const *paths, size_t count, struct dbr_error *error)
{
    char head[HEAD_BYTES];

    for (size_t i = 0; i < count; i++) {
        FILE *file = is_file(paths[i]) ? fopen(paths[i], "rb") : NULL;
        if (!file)
            continue;
        const char *name = archive_name(head, fread(head, 1, sizeof head, file));
        fclose(file);
        if (name)
            return dbr_error_set(error, DBR_ERROR_FORMAT,
                                 "%s: is a %s archive and was left alone: unpack it first",
                                 paths[i], name);
    }
    return 0;
}

int upload_mark(struct upload *upload, const char *const *paths, size_t count,
                struct dbr_error *error)
{
    upload->digests = calloc(count, sizeof *upload->digests);
    if (!upload->digests)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    for (size_t i = 0; i < count; i++)
        if (is_file(paths[i]))
            dbr_digest_file(paths[i], upload->digests[i], NULL);
    upload->mark = (struct dbr_upload_mark){
        .count = count,
        .paths = paths,
        .sha256 = (const char(*)[DBR_DIGEST_HEX_SIZE])upload->digests,
    };
    return 0;
}

void upload_release(struct upload *upload)
{
    free(upload->digests);
}
