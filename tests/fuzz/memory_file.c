/* memory_file.c - see memory_file.h. */
#define _GNU_SOURCE /* memfd_create */
#include "fuzz/memory_file.h"

#include <stdint.h>
#include <stdio.h>
#include <sys/mman.h>
#include <unistd.h>

#include "fuzz/target.h"

void memory_file_put(struct memory_file *file, const void *content, size_t length)
{
    if (file->fd == 0) {
        file->fd = memfd_create("input", MFD_CLOEXEC);
        MUST(file->fd > 0);
        snprintf(file->path, sizeof file->path, "/proc/self/fd/%d", file->fd);
    }
    MUST(ftruncate(file->fd, 0) == 0);
    for (size_t done = 0; done < length;) {
        ssize_t put = pwrite(file->fd, (const uint8_t *)content + done, length - done,
                             (off_t)done);
        MUST(put > 0);
        done += (size_t)put;
    }
}
