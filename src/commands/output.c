/* output.c - see output.h. */
#include "commands/output.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "commands/interrupt.h"

#define SUFFIX ".XXXXXX"

static int failed(const char *path, struct dbr_error *error)
{
    return dbr_error_set(error, DBR_ERROR_WRITE, "%s: cannot be written: %s", path,
                         strerror(errno));
}

/* Devices and pipes cannot be replaced: they are written as they are. */
static bool is_special(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0 && !S_ISREG(status.st_mode);
}

bool output_would_replace(const char *path, const char *other)
{
    struct stat a, b;

    return stat(path, &a) == 0 && S_ISREG(a.st_mode) && stat(other, &b) == 0 &&
           a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}

static int open_temporary(struct output *o, struct dbr_error *error)
{
    size_t size = strlen(o->path) + sizeof SUFFIX;

    o->temporary = malloc(size);
    if (!o->temporary)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    snprintf(o->temporary, size, "%s" SUFFIX, o->path);
    sigset_t before;
    interrupt_hold(&before);
    int descriptor = mkstemp(o->temporary);
    int reason = errno;
    if (descriptor >= 0)
        interrupt_guard(o->temporary);
    interrupt_release(&before);
    if (descriptor < 0) {
        errno = reason;
        failed(o->path, error);
        free(o->temporary);
        o->temporary = NULL;
        return -1;
    }
    mode_t mask = umask(0);
    umask(mask);
    fchmod(descriptor, 0666 & ~mask);
    o->file = fdopen(descriptor, "wb");
    if (!o->file) {
        failed(o->path, error);
        close(descriptor);
        output_abandon(o);
        return -1;
    }
    return 0;
}

static void forget_temporary(struct output *o)
{
    interrupt_unguard(o->temporary);
    free(o->temporary);
    o->temporary = NULL;
}

int output_open(struct output *o, const char *path, struct dbr_error *error)
{
    *o = (struct output){.path = path};
    if (strcmp(path, "-") == 0)
        o->file = stdout;
    else if (is_special(path))
        o->file = fopen(path, "wb");
    else if (open_temporary(o, error) < 0)
        return -1;
    if (o->file)
        return 0;
    failed(path, error);
    output_abandon(o);
    return -1;
}

int output_commit(struct output *o, struct dbr_error *error)
{
    if (o->file == stdout)
        return 0;
    int closed = fclose(o->file);
    o->file = NULL;
    if (closed != 0 || (o->temporary && rename(o->temporary, o->path) != 0)) {
        failed(o->path, error);
        output_abandon(o);
        return -1;
    }
    forget_temporary(o);
    return 0;
}

int output_fail(struct output *o, struct dbr_error *error)
{
    struct dbr_error reason = *error;

    if (reason.code == DBR_ERROR_WRITE && strcmp(o->path, "-") != 0)
        dbr_error_set(error, reason.code, "%s: %s", o->path, reason.text);
    output_abandon(o);
    return -1;
}

void output_abandon(struct output *o)
{
    if (o->file && o->file != stdout)
        fclose(o->file);
    if (o->temporary)
        unlink(o->temporary);
    forget_temporary(o);
    *o = (struct output){0};
}
