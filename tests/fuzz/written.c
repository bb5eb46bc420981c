/* written.c - see written.h. */
#include "fuzz/written.h"

#include <stdlib.h>

#include "fuzz/packed.h"

const char *const written_names[PACKED_INTERFACES] = {"can0", "vcan-left.1", "<b>\"2\"", "\xC3\xBC"};

void written_put(struct memory_file *file, const struct dbr_writing_options *options,
                 const struct dbr_frame *frames, size_t count)
{
    struct dbr_error error = {.code = DBR_ERROR_NONE};
    struct dbr_writer *writer = NULL;
    char *content = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&content, &length);

    MUST(out != NULL);
    MUST(dbr_writer_open(&writer, out, options, &error) == 0);
    for (size_t i = 0; i < count; i++)
        MUST(dbr_writer_frame(writer, &frames[i], &error) == 0);
    MUST(dbr_writer_close(writer, &error) == 0);
    MUST(fclose(out) == 0);
    memory_file_put(file, content, length);
    free(content);
}
