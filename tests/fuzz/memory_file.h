/*
 * memory_file.h - bytes as a file that is nowhere but in memory.
 *
 * The library opens recordings and rigs by name, more than once where it must. A memory
 * file has such a name; each opening begins at its first byte.
 */
#ifndef TESTS_FUZZ_MEMORY_FILE_H
#define TESTS_FUZZ_MEMORY_FILE_H

#include <stddef.h>

struct memory_file {
    int fd; /* 0: none yet */
    char path[32];
};

/* Gives it this content in place of what it had. A file is used again and again, and never closed. */
void memory_file_put(struct memory_file *file, const void *content, size_t length);

#endif
