/* upload.h - a recording on its way into the inbox. */
#ifndef DRAWBAR_COMMANDS_UPLOAD_H
#define DRAWBAR_COMMANDS_UPLOAD_H

#include "drawbar/reporting.h"

struct upload {
    char (*digests)[DBR_DIGEST_HEX_SIZE]; /* owned; as the mark has them */
    struct dbr_upload_mark mark;
};

/* Digests of the files; a stream, or a file that cannot be read, has none. 0, or -1: no memory. */
int upload_mark(struct upload *upload, const char *const *paths, size_t count,
                struct dbr_error *error);
void upload_release(struct upload *upload);

/* -1 where a file is an archive: what is packed in there is not for this program to unpack. */
int upload_allowed(const char *const *paths, size_t count, struct dbr_error *error);

#endif
