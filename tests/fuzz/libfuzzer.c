/*
 * libfuzzer.c - one target under libFuzzer, which makes up the inputs.
 *
 * Compiled once a target, with FUZZ_TARGET as its struct. The names of the functions are
 * libFuzzer's.
 */
#include "fuzz/target.h"

extern size_t LLVMFuzzerMutate(uint8_t *data, size_t size, size_t room);
int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t room, unsigned seed);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    FUZZ_TARGET.run(data, size);
    return 0;
}

/* One in four is changed as bytes, so that broken structure is tried too. */
size_t LLVMFuzzerCustomMutator(uint8_t *data, size_t size, size_t room, unsigned seed)
{
    if (!FUZZ_TARGET.mutate || seed % 4 == 0)
        return LLVMFuzzerMutate(data, size, room);
    return FUZZ_TARGET.mutate(data, size, room, seed / 4, LLVMFuzzerMutate);
}
