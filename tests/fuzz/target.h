/*
 * target.h - a fuzz target: one entrance of the library, any bytes, and what must hold for all.
 *
 * A target runs inside the process, from memory, and ends it (MUST) where something does
 * not hold. Two programs run targets: libfuzzer.c makes up inputs, one program a target;
 * replay.c plays inputs that are there, all targets in one program and with any compiler.
 *
 * To add one: write its file with a `const struct fuzz_target`, declare it here, add it to
 * targets.c and to `fuzz_targets` in CMakeLists.txt, and give `seeds` something to begin with.
 */
#ifndef TESTS_FUZZ_TARGET_H
#define TESTS_FUZZ_TARGET_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* libFuzzer's own mutation of some bytes; returns the new size, `room` at most. */
typedef size_t bytes_mutator(uint8_t *data, size_t size, size_t room);

struct fuzz_target {
    const char *name;
    size_t size_max; /* bytes of an input; larger ones only cost time */
    void (*run)(const uint8_t *data, size_t size);

    /* Changes an input and keeps its structure. NULL: any bytes are as good as others. */
    size_t (*mutate)(uint8_t *data, size_t size, size_t room, unsigned seed, bytes_mutator *bytes);
};

/* targets.c: all of them. */
extern const struct fuzz_target *const fuzz_targets[];
extern const size_t fuzz_target_count;

extern const struct fuzz_target text_target;
extern const struct fuzz_target capture_target;
extern const struct fuzz_target pcapng_target;
extern const struct fuzz_target gzip_target;
extern const struct fuzz_target json_target;
extern const struct fuzz_target definitions_target;
extern const struct fuzz_target rig_target;
extern const struct fuzz_target transfers_target;
extern const struct fuzz_target device_target;
extern const struct fuzz_target check_target;
extern const struct fuzz_target print_target;
extern const struct fuzz_target cut_target;

/* Ends the process with the place where `condition` does not hold. */
#define MUST(condition) must_hold((condition), #condition, __FILE__, __LINE__)

/* The same where a function tells in words what is wrong, or NULL. */
#define MUST_NOT(flaw) must_not(flaw, __FILE__, __LINE__)

void must_hold(bool holds, const char *condition, const char *file, int line);
void must_not(const char *flaw, const char *file, int line);

#endif
