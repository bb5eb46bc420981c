/*
 * planted.c - a program that fails badly, one way a case: the machine must tell each, and nothing
 * of the case that is sound (bites runs them).
 *
 * It copies a file by way of a part that gets its name last. It stands where the commands of
 * drawbar stand in the true machine.
 */
#define _GNU_SOURCE /* TEMP_FAILURE_RETRY */
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "commands/commands.h"
#include "machine/cases.h"

#define ROOM 65536u
#define PART "out/a.part"

#define CASE(name) {name, {name}, {NULL}, false}

const struct machine_case machine_cases[] = {
    CASE("sound"),      CASE("kept"),     CASE("left-open"),  CASE("half-named"),
    CASE("part-left"),  CASE("silent"),   CASE("unreasoned"), CASE("talkative"),
    CASE("null"),       CASE("exit"),     CASE("short-read"), CASE("interrupted"),
    CASE("beyond"),
};

const size_t machine_case_count = sizeof machine_cases / sizeof machine_cases[0];

const struct machine_exception *machine_exception(const struct machine_case *c,
                                                  enum fault_kind kind, const char *function)
{
    (void)c;
    (void)kind;
    (void)function;
    return NULL;
}

static const char *planted; /* the case that is played */

static bool is(const char *name)
{
    return strcmp(planted, name) == 0;
}

static int refuse(const char *reason)
{
    if (is("talkative"))
        fprintf(stderr, "drawbar: something went wrong\n");
    fprintf(stderr, "drawbar: %s\n", is("unreasoned") ? "cannot go on" : reason);
    return EXIT_UNUSABLE;
}

/* Bytes read; negative where reading failed. */
static ssize_t read_all(int file, char *text)
{
    size_t length = 0;

    for (;;) {
        ssize_t got = is("interrupted") ? read(file, text + length, ROOM - length)
                                        : TEMP_FAILURE_RETRY(read(file, text + length,
                                                                  ROOM - length));
        if (got < 0 && is("beyond"))
            text[ROOM + (unsigned)errno] = 'x';
        if (got < 0)
            return got;
        length += (size_t)got;
        if (got == 0 || is("short-read"))
            return (ssize_t)length;
    }
}

static bool write_all(int file, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t put = TEMP_FAILURE_RETRY(write(file, text, length));
        if (put < 0)
            return false;
        text += put;
        length -= (size_t)put;
    }
    return true;
}

static int give_up(int reason)
{
    if (!is("part-left"))
        unlink(PART);
    return is("silent") ? EXIT_CLEAN : refuse(strerror(reason));
}

static int write_copy(const char *text, size_t length)
{
    int file = open(PART, O_WRONLY | O_CREAT | O_TRUNC, 0666);

    if (file < 0)
        return refuse(strerror(errno));
    bool written = write_all(file, text, length);
    int reason = errno;
    if (!written && is("left-open"))
        return give_up(reason);
    bool closed = close(file) == 0;
    reason = written ? errno : reason;
    if (!(written && closed) && !is("half-named"))
        return give_up(reason);
    if (rename(PART, "out/a.log") != 0)
        return give_up(errno);
    return written && closed ? EXIT_CLEAN : refuse(strerror(reason));
}

static int copy(char *text)
{
    int file = open("in/short.log", O_RDONLY);

    if (file < 0)
        return refuse(strerror(errno));
    ssize_t length = read_all(file, text);
    int reason = errno;
    close(file);
    return length < 0 ? refuse(strerror(reason)) : write_copy(text, (size_t)length);
}

int commands_main(int argc, char **argv)
{
    planted = argc > 1 ? argv[1] : "";
    char *text = malloc(ROOM);
    if (!text && !is("null"))
        return refuse("out of memory");
    text[0] = '\0';
    int status = copy(text);
    if (status == EXIT_UNUSABLE && is("exit"))
        exit(status);
    if (status != EXIT_UNUSABLE || !is("kept"))
        free(text);
    return status;
}
