/*
 * memory.c - malloc and its like, for the program and all its libraries.
 *
 * Where the address sanitizer is in, the memory stays its own. This file is compiled without it:
 * the loader asks for memory before the sanitizer is up.
 */
#include <execinfo.h>
#include <errno.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

#include "machine/faults.h"
#include "machine/faults_count.h"

#ifdef MACHINE_ADDRESS_SANITIZER
#define UNDER(name) __interceptor_##name
#else
#define UNDER(name) __libc_##name
#endif

void *UNDER(malloc)(size_t size);
void *UNDER(calloc)(size_t count, size_t size);
void *UNDER(realloc)(void *block, size_t size);
void UNDER(free)(void *block);

#define TABLE (1u << 18)
#define GONE ((void *)1)
#define CHAIN_DEPTH 11 /* three are ours; further callers rarely matter, and inbox and check share the rest */

/* Blocks that are out, by address: open addressing. Only what was taken while faults->on. */
static void *table[TABLE];
static size_t live, used; /* blocks; slots of the table */
static atomic_flag busy = ATOMIC_FLAG_INIT;
static _Thread_local bool within;

static size_t slot_of(const void *block)
{
    return (size_t)((uintptr_t)block * UINT64_C(0x9E3779B97F4A7C15) >> 46) % TABLE;
}

static void lock(void)
{
    while (atomic_flag_test_and_set_explicit(&busy, memory_order_acquire))
        ;
}

static void unlock(void)
{
    atomic_flag_clear_explicit(&busy, memory_order_release);
}

static void remember(void *block)
{
    if (!block || !faults || !faults->on)
        return;
    lock();
    for (size_t i = slot_of(block), tries = 0; tries < TABLE; i = (i + 1) % TABLE, tries++)
        if (!table[i] || table[i] == GONE) {
            used += table[i] == NULL;
            table[i] = block;
            live++;
            break;
        }
    unlock();
}

static void forget(const void *block)
{
    if (!block || live == 0)
        return;
    lock();
    for (size_t i = slot_of(block), tries = 0; table[i] && tries < TABLE; i = (i + 1) % TABLE, tries++)
        if (table[i] == block) {
            table[i] = GONE;
            live--;
            break;
        }
    unlock();
}

size_t faults_live(void)
{
    return live;
}

void faults_forget_live(void)
{
    if (used > 0)
        memset(table, 0, sizeof table);
    live = used = 0;
}

/* Two calls of the same chain are alike: the same code asks on behalf of the same code. */
static void note_chain(unsigned long call)
{
    void *chain[CHAIN_DEPTH];
    uint32_t hash = 2166136261u; /* FNV-1a */

    if (!faults->chains_on || call > FAULT_CHAINS_MAX)
        return;
    int depth = backtrace(chain, CHAIN_DEPTH);
    for (int i = 0; i < depth; i++)
        hash = (hash ^ (uint32_t)(uintptr_t)chain[i]) * 16777619u;
    faults->chains[call - 1] = hash;
}

static bool refused(const char *function)
{
    if (within || !faults || !faults->on)
        return false;
    within = true;
    bool fails = fault_now(FAULT_MEMORY, function);
    note_chain(faults->calls[FAULT_MEMORY]);
    within = false;
    return fails;
}

void *malloc(size_t size)
{
    if (refused("malloc"))
        return NULL;
    void *block = UNDER(malloc)(size);
    remember(block);
    return block;
}

void *calloc(size_t count, size_t size)
{
    if (refused("calloc"))
        return NULL;
    void *block = UNDER(calloc)(count, size);
    remember(block);
    return block;
}

void *realloc(void *old, size_t size)
{
    if (refused("realloc"))
        return NULL;
    forget(old);
    void *block = UNDER(realloc)(old, size);
    remember(block);
    return block;
}

void free(void *block)
{
    forget(block);
    UNDER(free)(block);
}

/* The first backtrace of a process loads a library. */
void memory_start(void)
{
    void *chain[1];

    backtrace(chain, 1);
}
