/* bytes.h - bytes that grow, up to a ceiling; what a writer fills and a file holds. */
#ifndef FARM_BYTES_H
#define FARM_BYTES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define FARM_BYTES_MAX ((size_t)64 << 20) /* 64 MiB: a hundred recordings of ours */

struct farm_bytes {
    uint8_t *data; /* owned */
    size_t length, room;
    bool failed; /* no memory, or beyond the ceiling */
};

void farm_bytes_add(struct farm_bytes *b, const void *data, size_t length);
void farm_bytes_add16(struct farm_bytes *b, uint32_t value); /* least significant byte first */
void farm_bytes_add32(struct farm_bytes *b, uint32_t value);
void farm_bytes_release(struct farm_bytes *b);

/* False where the file could not be written. */
bool farm_bytes_write_file(const struct farm_bytes *b, const char *path);

/* Adds the gzip'd form of `plain`. False: no memory. */
bool farm_bytes_zip(const struct farm_bytes *plain, struct farm_bytes *out);

/* Adds what a file holds, unpacked where it is gzip'd. False: no file, damaged, or no memory. */
bool farm_bytes_read_file(struct farm_bytes *out, const char *path);

#endif
