/*
 * calls.c - stands between the program and the system. The linker sends the program's own calls
 * here (--wrap), those of other libraries not: what libpcap reads, it reads through a stream of
 * ours.
 */
#define _GNU_SOURCE /* fopencookie */
#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

#include "machine/faults.h"
#include "machine/faults_count.h"

#define STREAMS_MAX 64

/* The linker makes __wrap_NAME of the program's calls, and __real_NAME of the system's own. */
#define STAND_BETWEEN(type, name, parameters) \
    type __real_##name parameters; \
    type __wrap_##name parameters

/* The usual case: the call fails, or is made. */
#define STAND_FOR(type, name, kind, failure, parameters, arguments) \
    STAND_BETWEEN(type, name, parameters); \
    type __wrap_##name parameters \
    { \
        return fault_now(kind, #name) ? (failure) : __real_##name arguments; \
    }

STAND_FOR(int, access, FAULT_LOOK, -1, (const char *path, int mode), (path, mode))
STAND_FOR(int, stat, FAULT_LOOK, -1, (const char *path, struct stat *out), (path, out))
STAND_FOR(int, lstat, FAULT_LOOK, -1, (const char *path, struct stat *out), (path, out))
STAND_FOR(int, fstat, FAULT_LOOK, -1, (int descriptor, struct stat *out), (descriptor, out))
STAND_FOR(char *, realpath, FAULT_LOOK, NULL, (const char *path, char *out), (path, out))
STAND_FOR(int, rename, FAULT_NAME, -1, (const char *from, const char *to), (from, to))
STAND_FOR(int, unlink, FAULT_NAME, -1, (const char *path), (path))
STAND_FOR(int, unlinkat, FAULT_NAME, -1, (int folder, const char *path, int flags),
          (folder, path, flags))
STAND_FOR(int, mkdir, FAULT_NAME, -1, (const char *path, mode_t mode), (path, mode))
STAND_FOR(int, chdir, FAULT_NAME, -1, (const char *path), (path))
STAND_FOR(int, mkstemp, FAULT_OPEN, -1, (char *path), (path))
STAND_FOR(int, dup, FAULT_OPEN, -1, (int descriptor), (descriptor))
STAND_FOR(int, pipe, FAULT_OPEN, -1, (int ends[2]), (ends))
STAND_FOR(pid_t, fork, FAULT_OPEN, -1, (void), ())
STAND_FOR(DIR *, opendir, FAULT_OPEN, NULL, (const char *path), (path))
STAND_FOR(struct dirent *, readdir, FAULT_READ, NULL, (DIR *folder), (folder))
STAND_FOR(int, scandir, FAULT_OPEN, -1,
          (const char *path, struct dirent ***list, int (*wanted)(const struct dirent *),
           int (*order)(const struct dirent **, const struct dirent **)),
          (path, list, wanted, order))
STAND_FOR(int, poll, FAULT_INTERRUPT, -1, (struct pollfd *list, nfds_t count, int timeout),
          (list, count, timeout))
STAND_FOR(pid_t, waitpid, FAULT_INTERRUPT, -1, (pid_t process, int *status, int options),
          (process, status, options))

STAND_BETWEEN(int, open, (const char *path, int flags, ...));
int __wrap_open(const char *path, int flags, ...)
{
    va_list arguments;

    va_start(arguments, flags);
    unsigned mode = flags & O_CREAT ? va_arg(arguments, unsigned) : 0;
    va_end(arguments);
    return fault_now(FAULT_OPEN, "open") ? -1 : __real_open(path, flags, mode);
}

STAND_BETWEEN(int, close, (int descriptor));
int __wrap_close(int descriptor)
{
    bool fails = fault_now(FAULT_CLOSE, "close");
    int status = __real_close(descriptor);

    if (fails)
        errno = EIO;
    return fails ? -1 : status;
}

STAND_BETWEEN(ssize_t, read, (int descriptor, void *out, size_t count));
ssize_t __wrap_read(int descriptor, void *out, size_t count)
{
    if (fault_now(FAULT_READ, "read") || fault_now(FAULT_INTERRUPT, "read"))
        return -1;
    if (count > 1 && fault_now(FAULT_SHORT, "read"))
        count = 1;
    return __real_read(descriptor, out, count);
}

STAND_BETWEEN(ssize_t, write, (int descriptor, const void *from, size_t count));
ssize_t __wrap_write(int descriptor, const void *from, size_t count)
{
    if (fault_now(FAULT_WRITE, "write") || fault_now(FAULT_INTERRUPT, "write"))
        return -1;
    return __real_write(descriptor, from, count);
}

/* What they are called in code that is built with the checks of the C library (_FORTIFY_SOURCE),
 * where it knows the room behind a pointer. */
ssize_t __wrap___read_chk(int descriptor, void *out, size_t count, size_t room);
ssize_t __wrap___read_chk(int descriptor, void *out, size_t count, size_t room)
{
    return __wrap_read(descriptor, out, count < room ? count : room);
}

int __wrap___poll_chk(struct pollfd *list, nfds_t count, int timeout, size_t room);
int __wrap___poll_chk(struct pollfd *list, nfds_t count, int timeout, size_t room)
{
    (void)room;
    return __wrap_poll(list, count, timeout);
}

/* Streams: the C library would make its calls where nobody stands between. */

static struct under {
    bool used;
    int descriptor;
} streams[STREAMS_MAX];

static ssize_t stream_read(void *cookie, char *out, size_t count)
{
    const struct under *u = cookie;
    return fault_now(FAULT_READ, "fread") ? -1 : __real_read(u->descriptor, out, count);
}

/* What a full disk still takes of a piece is nothing. */
static ssize_t stream_write(void *cookie, const char *from, size_t count)
{
    const struct under *u = cookie;

    if (fault_now(FAULT_WRITE, "fwrite"))
        return 0;
    ssize_t done = __real_write(u->descriptor, from, count);
    return done < 0 ? 0 : done;
}

static int stream_seek(void *cookie, off64_t *at, int whence)
{
    const struct under *u = cookie;
    off_t found = fault_now(FAULT_READ, "fseek") ? -1 : lseek(u->descriptor, *at, whence);

    *at = found;
    return found < 0 ? -1 : 0;
}

static int stream_close(void *cookie)
{
    struct under *u = cookie;

    u->used = false;
    return __wrap_close(u->descriptor);
}

FILE *faults_stream(int descriptor, const char *mode)
{
    static const cookie_io_functions_t functions = {stream_read, stream_write, stream_seek,
                                                    stream_close};

    for (size_t i = 0; i < STREAMS_MAX; i++)
        if (!__atomic_exchange_n(&streams[i].used, true, __ATOMIC_ACQ_REL)) {
            streams[i].descriptor = descriptor;
            FILE *file = fopencookie(&streams[i], mode, functions);
            streams[i].used = file != NULL;
            return file;
        }
    errno = EMFILE;
    return NULL;
}

STAND_BETWEEN(FILE *, fdopen, (int descriptor, const char *mode));
FILE *__wrap_fdopen(int descriptor, const char *mode)
{
    if (!faults) /* whoever counts branches writes its files at the end */
        return __real_fdopen(descriptor, mode);
    return fault_now(FAULT_OPEN, "fdopen") ? NULL : faults_stream(descriptor, mode);
}

/* Opened by its number, or closed where there is no memory for the stream. */
static FILE *stream_or_close(int descriptor, const char *mode)
{
    FILE *file = descriptor < 0 ? NULL : faults_stream(descriptor, mode);

    if (!file && descriptor >= 0)
        __real_close(descriptor);
    return file;
}

STAND_BETWEEN(FILE *, fopen, (const char *path, const char *mode));
FILE *__wrap_fopen(const char *path, const char *mode)
{
    int flags = mode[0] == 'r' ? O_RDONLY : O_WRONLY | O_CREAT | O_TRUNC;

    if (fault_now(FAULT_OPEN, "fopen"))
        return NULL;
    return stream_or_close(__real_open(path, flags | O_CLOEXEC, 0666), mode);
}

STAND_BETWEEN(FILE *, tmpfile, (void));
FILE *__wrap_tmpfile(void)
{
    char path[] = "/tmp/drawbar-machine-XXXXXX";

    if (fault_now(FAULT_OPEN, "tmpfile"))
        return NULL;
    int descriptor = __real_mkstemp(path);
    if (descriptor >= 0)
        __real_unlink(path);
    return stream_or_close(descriptor, "w+b");
}
