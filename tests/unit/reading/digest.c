/*
 * digest.c - SHA-256 against the published examples (FIPS 180-2, appendix B, which FIPS 180-4
 * refers to) and against itself in pieces of every size.
 */
#include <criterion/criterion.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "drawbar/digest.h"

static void digest_of(const char *text, size_t length, size_t piece, char *hex)
{
    struct dbr_digest digest;

    dbr_digest_start(&digest);
    for (size_t at = 0; at < length; at += piece)
        dbr_digest_add(&digest, text + at, length - at < piece ? length - at : piece);
    dbr_digest_finish(&digest, hex);
}

Test(digest, published_examples)
{
    static const struct {
        const char *text, *hex;
    } rows[] = {
        {"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
        {"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
        {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
         "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    };
    char hex[DBR_DIGEST_HEX_SIZE];

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        digest_of(rows[i].text, strlen(rows[i].text), 64, hex);
        cr_expect_str_eq(hex, rows[i].hex);
    }
}

Test(digest, a_million_letters)
{
    char *text = malloc(1000000), hex[DBR_DIGEST_HEX_SIZE];

    cr_assert_not_null(text);
    memset(text, 'a', 1000000);
    digest_of(text, 1000000, 1000000, hex);
    cr_expect_str_eq(hex, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    digest_of(text, 1000000, 997, hex);
    cr_expect_str_eq(hex, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
    free(text);
}

/* Every length around a block, in pieces of every size: the same as in one piece. */
Test(digest, pieces_do_not_matter)
{
    char text[200], whole[DBR_DIGEST_HEX_SIZE], pieces[DBR_DIGEST_HEX_SIZE];

    for (size_t i = 0; i < sizeof text; i++)
        text[i] = (char)(i * 7);
    for (size_t length = 1; length <= sizeof text; length++) {
        digest_of(text, length, length, whole);
        for (size_t piece = 1; piece < length; piece++) {
            digest_of(text, length, piece, pieces);
            cr_assert_str_eq(pieces, whole, "%zu bytes in pieces of %zu", length, piece);
        }
    }
}

Test(digest, of_a_file)
{
    char path[] = "/tmp/drawbar-digest.XXXXXX", hex[DBR_DIGEST_HEX_SIZE];
    int descriptor = mkstemp(path);

    cr_assert(descriptor >= 0);
    cr_assert_eq(write(descriptor, "abc", 3), 3);
    close(descriptor);
    cr_expect_eq(dbr_digest_file(path, hex, NULL), 0);
    cr_expect_str_eq(hex, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    unlink(path);
    cr_expect_eq(dbr_digest_file(path, hex, NULL), -1);
    cr_expect_eq(dbr_digest_file("/tmp", hex, NULL), -1); /* a directory */
}

Test(digest, no_pipe_is_waited_for, .timeout = 60)
{
    char folder[] = "/tmp/drawbar-digest.XXXXXX", path[64], hex[DBR_DIGEST_HEX_SIZE];

    cr_assert_not_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/pipe", folder);
    cr_assert_eq(mkfifo(path, 0600), 0);
    cr_expect_eq(dbr_digest_file(path, hex, NULL), -1);
    unlink(path);
    rmdir(folder);
}
