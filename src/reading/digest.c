/* digest.c - see digest.h. Names and numbers are those of FIPS 180-4. */
#include "drawbar/digest.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PIECE (64u * 1024u) /* bytes read at once */
#define LENGTH_AT 56u       /* where the length stands in the last block (5.1.1) */

/* 4.2.2: the first 32 bits of the fractional parts of the cube roots of the first 64 primes. */
static const uint32_t k[64] = {
    0x428a2f98u, 0x71374491u, 0xb5c0fbcfu, 0xe9b5dba5u, 0x3956c25bu, 0x59f111f1u,
    0x923f82a4u, 0xab1c5ed5u, 0xd807aa98u, 0x12835b01u, 0x243185beu, 0x550c7dc3u,
    0x72be5d74u, 0x80deb1feu, 0x9bdc06a7u, 0xc19bf174u, 0xe49b69c1u, 0xefbe4786u,
    0x0fc19dc6u, 0x240ca1ccu, 0x2de92c6fu, 0x4a7484aau, 0x5cb0a9dcu, 0x76f988dau,
    0x983e5152u, 0xa831c66du, 0xb00327c8u, 0xbf597fc7u, 0xc6e00bf3u, 0xd5a79147u,
    0x06ca6351u, 0x14292967u, 0x27b70a85u, 0x2e1b2138u, 0x4d2c6dfcu, 0x53380d13u,
    0x650a7354u, 0x766a0abbu, 0x81c2c92eu, 0x92722c85u, 0xa2bfe8a1u, 0xa81a664bu,
    0xc24b8b70u, 0xc76c51a3u, 0xd192e819u, 0xd6990624u, 0xf40e3585u, 0x106aa070u,
    0x19a4c116u, 0x1e376c08u, 0x2748774cu, 0x34b0bcb5u, 0x391c0cb3u, 0x4ed8aa4au,
    0x5b9cca4fu, 0x682e6ff3u, 0x748f82eeu, 0x78a5636fu, 0x84c87814u, 0x8cc70208u,
    0x90befffau, 0xa4506cebu, 0xbef9a3f7u, 0xc67178f2u,
};

/* 5.3.3: likewise the square roots of the first 8 primes. */
static const uint32_t initial[8] = {
    0x6a09e667u, 0xbb67ae85u, 0x3c6ef372u, 0xa54ff53au, 0x510e527fu, 0x9b05688cu,
    0x1f83d9abu, 0x5be0cd19u,
};

static uint32_t turn(uint32_t x, unsigned n)
{
    return x >> n | x << (32 - n);
}

/* 6.2.2, step 1. */
static void schedule(uint32_t w[64], const uint8_t *block)
{
    for (unsigned t = 0; t < 16; t++)
        w[t] = (uint32_t)block[4 * t] << 24 | (uint32_t)block[4 * t + 1] << 16 |
               (uint32_t)block[4 * t + 2] << 8 | block[4 * t + 3];
    for (unsigned t = 16; t < 64; t++) {
        uint32_t s0 = turn(w[t - 15], 7) ^ turn(w[t - 15], 18) ^ w[t - 15] >> 3;
        uint32_t s1 = turn(w[t - 2], 17) ^ turn(w[t - 2], 19) ^ w[t - 2] >> 10;
        w[t] = s1 + w[t - 7] + s0 + w[t - 16];
    }
}

/* 6.2.2, steps 2 to 4. */
static void compress(uint32_t state[8], const uint8_t *block)
{
    uint32_t w[64], s[8];

    schedule(w, block);
    memcpy(s, state, sizeof s);
    for (unsigned t = 0; t < 64; t++) {
        uint32_t e = s[4], a = s[0];
        uint32_t t1 = s[7] + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & s[5]) ^ (~e & s[6])) +
                      k[t] + w[t];
        uint32_t t2 = (turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) +
                      ((a & s[1]) ^ (a & s[2]) ^ (s[1] & s[2]));
        memmove(s + 1, s, 7 * sizeof s[0]);
        s[4] += t1;
        s[0] = t1 + t2;
    }
    for (unsigned i = 0; i < 8; i++)
        state[i] += s[i];
}

void dbr_digest_start(struct dbr_digest *digest)
{
    memcpy(digest->state, initial, sizeof initial);
    digest->length = 0;
}

void dbr_digest_add(struct dbr_digest *digest, const void *bytes, size_t length)
{
    const uint8_t *from = bytes;
    size_t used = digest->length % DBR_DIGEST_BLOCK;

    digest->length += length;
    while (length > 0) {
        size_t take = DBR_DIGEST_BLOCK - used < length ? DBR_DIGEST_BLOCK - used : length;
        if (take == DBR_DIGEST_BLOCK) { /* whole blocks need no copy */
            compress(digest->state, from);
        } else {
            memcpy(digest->block + used, from, take);
            if (used + take == DBR_DIGEST_BLOCK)
                compress(digest->state, digest->block);
        }
        used = (used + take) % DBR_DIGEST_BLOCK;
        from += take;
        length -= take;
    }
}

/* 5.1.1: a one, zeros, and the length in bits, most significant byte first. */
void dbr_digest_finish(struct dbr_digest *digest, char hex[DBR_DIGEST_HEX_SIZE])
{
    static const uint8_t padding[DBR_DIGEST_BLOCK] = {0x80};
    static const char digits[] = "0123456789abcdef";
    uint64_t bits = digest->length * 8;
    size_t used = digest->length % DBR_DIGEST_BLOCK;
    uint8_t length[8];

    for (unsigned i = 0; i < 8; i++)
        length[i] = (uint8_t)(bits >> (56 - 8 * i));
    dbr_digest_add(digest, padding,
                   used < LENGTH_AT ? LENGTH_AT - used : DBR_DIGEST_BLOCK + LENGTH_AT - used);
    dbr_digest_add(digest, length, sizeof length);
    for (unsigned i = 0; i < 64; i++)
        hex[i] = digits[digest->state[i / 8] >> (28 - 4 * (i % 8)) & 15u];
    hex[64] = '\0';
}

static int add_all(struct dbr_digest *digest, int descriptor)
{
    uint8_t piece[PIECE];
    ssize_t count;

    while ((count = read(descriptor, piece, sizeof piece)) != 0) {
        if (count < 0 && errno != EINTR)
            return -1;
        if (count > 0)
            dbr_digest_add(digest, piece, (size_t)count);
    }
    return 0;
}

int dbr_digest_file(const char *path, char hex[DBR_DIGEST_HEX_SIZE], struct dbr_error *error)
{
    struct dbr_digest digest;
    struct stat status_of;
    /* Else a pipe that nobody writes to would be waited for. */
    int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);

    if (descriptor < 0)
        return dbr_error_set(error, DBR_ERROR_OPEN, "%s: cannot be opened: %s", path,
                             strerror(errno));
    if (fstat(descriptor, &status_of) < 0 || !S_ISREG(status_of.st_mode)) {
        close(descriptor);
        return dbr_error_set(error, DBR_ERROR_READ, "%s: cannot be read: it is no file", path);
    }
    dbr_digest_start(&digest);
    int status = add_all(&digest, descriptor);
    if (status < 0)
        dbr_error_set(error, DBR_ERROR_READ, "%s: cannot be read: %s", path, strerror(errno));
    else
        dbr_digest_finish(&digest, hex);
    close(descriptor);
    return status;
}
