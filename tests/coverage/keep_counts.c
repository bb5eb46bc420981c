/*
 * keep_counts.c - what was counted is kept however a process ends: the counters lie side by side
 * (counts.ld), on pages that a process shares with all that it forks. The first of them writes the
 * files, once: a process that is one of thousands, or is killed, need not.
 */
#include <stdlib.h>
#include <sys/mman.h>

extern char counts_begin[], counts_end[];

__attribute__((constructor)) static void share(void)
{
    size_t size = (size_t)(counts_end - counts_begin);

    if (size > 0 && mmap(counts_begin, size, PROT_READ | PROT_WRITE,
                         MAP_SHARED | MAP_ANONYMOUS | MAP_FIXED, -1, 0) == MAP_FAILED)
        abort();
}
