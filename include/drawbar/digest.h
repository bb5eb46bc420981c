/*
 * digest.h - SHA-256 (FIPS 180-4): what tells one upload from another.
 *
 *     dbr_digest_start(&digest);
 *     dbr_digest_add(&digest, bytes, length);   // as often as needed
 *     dbr_digest_finish(&digest, hex);
 */
#ifndef DRAWBAR_DIGEST_H
#define DRAWBAR_DIGEST_H

#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/error.h"

DBR_API_BEGIN

#define DBR_DIGEST_BLOCK 64u     /* bytes (FIPS 180-4, figure 1: 512 bits) */
#define DBR_DIGEST_HEX_SIZE 65u  /* 64 digits and a NUL */

struct dbr_digest {
    uint32_t state[8];
    uint64_t length; /* bytes so far */
    uint8_t block[DBR_DIGEST_BLOCK];
};

void dbr_digest_start(struct dbr_digest *digest);
void dbr_digest_add(struct dbr_digest *digest, const void *bytes, size_t length);

/* In lower-case hexadecimal. The digest must be started again before it is used again. */
void dbr_digest_finish(struct dbr_digest *digest, char hex[DBR_DIGEST_HEX_SIZE]);

/* Of the bytes of a file as they are stored (a gzip'd one is not unpacked). 0, or -1 where it cannot
 * be read; pipes, devices and folders are not. */
int dbr_digest_file(const char *path, char hex[DBR_DIGEST_HEX_SIZE], struct dbr_error *error);

DBR_API_END

#endif
