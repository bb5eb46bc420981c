/* Reading ahead on a second thread: given up early, asked again, lent instead of copied. */
#include <criterion/criterion.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "drawbar/reading.h"
#include "support/bytes.h"
#include "support/plain_bits.h"

#define FRAMES 20000u /* more than the ring holds several times over */

static char path[256];

static void write_lines(int fd, unsigned count)
{
    struct bytes text = {0};

    for (unsigned i = 0; i < count; i++)
        bytes_text(&text, "(1717000000.%06u) can0 18FEF1%02X#%016X\n", i, i % 200, i);
    cr_assert_eq(write(fd, text.data, text.length), (ssize_t)text.length);
    bytes_free(&text);
}

static void make_file(void)
{
    const char *folder = getenv("TMPDIR");

    snprintf(path, sizeof path, "%s/drawbar ahead XXXXXX", folder ? folder : "/tmp");
    int fd = mkstemp(path);
    cr_assert_geq(fd, 0);
    write_lines(fd, FRAMES);
    close(fd);
}

static void remove_file(void)
{
    unlink(path);
}

TestSuite(reading_ahead, .init = make_file, .fini = remove_file, .timeout = 60);

static struct dbr_recording *open_it(unsigned threads)
{
    const struct dbr_reading_options options = {.threads = threads, .measure = true};
    struct dbr_recording *recording;
    struct dbr_error error;

    cr_assert_eq(dbr_recording_open(&recording, (const char *[]){path}, 1, &options, &error), 0);
    return recording;
}

Test(reading_ahead, may_be_closed_at_any_time)
{
    static struct dbr_batch batch = {.capacity = 5};

    dbr_recording_close(open_it(2));
    for (int batches = 1; batches < 400; batches += 57) {
        struct dbr_recording *recording = open_it(2);
        for (int i = 0; i < batches; i++)
            cr_assert_eq(dbr_recording_next(recording, &batch, NULL), 5);
        dbr_recording_close(recording);
    }
}

/* Another process writes a while, and then keeps its end of the pipe open and says no more. */
static pid_t start_speaker(void)
{
    pid_t speaker = fork();

    if (speaker == 0) {
        int end = open(path, O_WRONLY);
        write_lines(end, FRAMES / 4);
        pause();
        _exit(0);
    }
    cr_assert_gt(speaker, 0);
    return speaker;
}

Test(reading_ahead, closing_does_not_wait_for_bytes_that_do_not_come)
{
    static struct dbr_batch batch = {.capacity = DBR_BATCH_FRAMES};

    remove_file();
    cr_assert_eq(mkfifo(path, 0600), 0);
    pid_t speaker = start_speaker();
    struct dbr_recording *recording = open_it(2);
    cr_assert_eq(dbr_recording_next(recording, &batch, NULL), DBR_BATCH_FRAMES);
    dbr_recording_close(recording);
    kill(speaker, SIGKILL);
    waitpid(speaker, NULL, 0);
}

Test(reading_ahead, the_end_is_told_as_often_as_asked)
{
    static struct dbr_batch batch = {.capacity = DBR_BATCH_FRAMES};
    struct dbr_recording *recording = open_it(2);

    while (dbr_recording_next(recording, &batch, NULL) > 0)
        continue;
    cr_assert_eq(dbr_recording_next(recording, &batch, NULL), 0);
    cr_assert_eq(dbr_recording_next(recording, &batch, NULL), 0);
    cr_assert_eq(dbr_recording_info(recording)->files[0].frames, FRAMES);
    dbr_recording_close(recording);
}

/* The same frames, each with its length on the bus, and an info that tells no more than was lent. */
Test(reading_ahead, what_is_lent_is_what_is_copied)
{
    static struct dbr_batch batch;

    for (unsigned threads = 1; threads <= 2; threads++) {
        struct dbr_recording *copied = open_it(3 - threads), *lent = open_it(threads);
        const struct dbr_batch *own;
        uint64_t frames = 0;
        int count;
        while ((count = dbr_recording_lend(lent, &own, NULL)) > 0) {
            batch.capacity = own->count;
            cr_assert_eq(dbr_recording_next(copied, &batch, NULL), count);
            cr_assert_arr_eq(own->frames, batch.frames, own->count * sizeof own->frames[0]);
            for (size_t i = 0; i < own->count; i++) {
                cr_assert_eq(own->bits[i], plain_bits(&own->frames[i]));
                cr_assert_eq(batch.bits[i], own->bits[i]);
            }
            frames += own->count;
            cr_assert_eq(dbr_recording_info(lent)->frames, frames);
            cr_assert_eq(dbr_recording_info(lent)->last_ns, own->frames[count - 1].at_ns);
        }
        cr_assert_eq(count, 0);
        cr_assert_eq(frames, FRAMES);
        dbr_recording_close(copied);
        dbr_recording_close(lent);
    }
}
