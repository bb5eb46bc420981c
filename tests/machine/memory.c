/*
 * memory.c - malloc and its like, for the program and all its libraries.
 *
 * Where the address sanitizer is in, the memory stays its own. This file is compiled without it:
 * the loader asks for memory before the sanitizer is up.
 */
#define _GNU_SOURCE /* RTLD_NEXT, pthread_getattr_np */
#include <dlfcn.h>
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
#define OURS 4 /* functions of this program's at the head of a chain */

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

uint32_t fault_way(void)
{
    void *chain[OURS + FAULT_CALLERS];
    uint32_t hash = 2166136261u; /* FNV-1a */
    bool outer = within;

    within = true;
    int depth = backtrace(chain, OURS + faults->callers);
    within = outer;
    for (int i = 0; i < depth; i++)
        hash = (hash ^ (uint32_t)(uintptr_t)chain[i]) * 16777619u;
    return hash;
}

static bool refused(const char *function)
{
    if (within || !faults || !faults->on)
        return false;
    within = true;
    bool fails = fault_now(FAULT_MEMORY, function);
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

#ifdef MACHINE_ADDRESS_SANITIZER

static int (*stack_of_thread)(pthread_t thread, pthread_attr_t *out);

/* The sanitizer asks for the stack of each new thread, and cannot do without. */
int pthread_getattr_np(pthread_t thread, pthread_attr_t *out)
{
    bool outer = within;

    if (!stack_of_thread)
        *(void **)&stack_of_thread = dlsym(RTLD_NEXT, "pthread_getattr_np");
    within = true;
    int status = stack_of_thread(thread, out);
    within = outer;
    return status;
}

/* Its own would ask itself for the memory, and nobody would stand between. */
char *strndup(const char *text, size_t most)
{
    size_t length = strnlen(text, most);
    char *copy = malloc(length + 1);

    if (copy) {
        memcpy(copy, text, length);
        copy[length] = '\0';
    }
    return copy;
}

char *strdup(const char *text)
{
    return strndup(text, strlen(text));
}

#endif

/* The first backtrace of a process loads a library. */
void memory_start(void)
{
    void *chain[1];

    backtrace(chain, 1);
}
