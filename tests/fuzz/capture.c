/* capture.c - classic capture files: any bytes. */
#include "fuzz/readings.h"
#include "fuzz/target.h"

static void capture_run(const uint8_t *data, size_t size)
{
    readings_must_agree(data, size, 1 + size % 7);
}

const struct fuzz_target capture_target = {
    .name = "capture", .size_max = 4096, .run = capture_run};
