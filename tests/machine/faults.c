/* faults.c - see faults.h. */
#include "machine/faults.h"

#include <errno.h>
#include <execinfo.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "machine/faults_count.h"

struct faults *faults;

static const struct {
    const char *name;
    int number;
} kinds[] = {
#define KIND(kind, name, number) {name, number},
    FAULT_KINDS(KIND)
#undef KIND
};

const char *fault_name(enum fault_kind kind)
{
    return kinds[kind].name;
}

int fault_number(enum fault_kind kind)
{
    return kinds[kind].number;
}

void faults_start(void)
{
    void *page = mmap(NULL, sizeof *faults, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);

    faults = page == MAP_FAILED ? NULL : page;
    if (faults)
        faults->trace_to = dup(STDERR_FILENO);
    memory_start();
}

/* The sanitizer knows the names of functions. */
void __sanitizer_print_stack_trace(void) __attribute__((weak));

static void show_way(void)
{
    void *chain[64];

    faults->on = false;
    int own = dup(STDERR_FILENO);
    dup2(faults->trace_to, STDERR_FILENO);
    if (__sanitizer_print_stack_trace)
        __sanitizer_print_stack_trace();
    else
        backtrace_symbols_fd(chain, backtrace(chain, 64), STDERR_FILENO);
    dup2(own, STDERR_FILENO);
    close(own);
    faults->on = true;
}

void faults_reset(void)
{
    faults->on = faults->chains_on = false;
    faults->fail_at = faults->failed = 0;
    faults->stays = false;
    faults->function = NULL;
    memset(faults->calls, 0, sizeof faults->calls);
}

bool fault_now(enum fault_kind kind, const char *function)
{
    if (!faults || !faults->on)
        return false;
    unsigned long call = __atomic_add_fetch(&faults->calls[kind], 1, __ATOMIC_RELAXED);
    if (faults->chains_on && call <= (kind == FAULT_MEMORY ? FAULT_CHAINS_MAX : FAULT_WAYS_MAX))
        *(kind == FAULT_MEMORY ? &faults->chains[call - 1] : &faults->ways[kind][call - 1]) =
            fault_way();
    if (kind != faults->kind || faults->fail_at == 0 || call < faults->fail_at ||
        (call > faults->fail_at && !faults->stays))
        return false;
    if (__atomic_fetch_add(&faults->failed, 1, __ATOMIC_RELAXED) == 0)
        faults->function = function;
    if (faults->trace && faults->failed == 1)
        show_way();
    errno = kinds[kind].number;
    return true;
}
