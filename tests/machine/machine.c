/*
 * machine.c - plays commands on a machine that fails, call by call.
 *
 *     drawbar-machine [--all] [--callers N] [--jobs N] [--case NAME] [--kind KIND] [--at N]
 *         [--trace] INPUTS
 *
 * Every call for a file, a read, a write, a name fails in turn. Calls for memory are tens of
 * thousands, and most of them the same code on behalf of the same code: of each such way to a call
 * the first and the last fail, and the first with all that follow; a way that another case went
 * already is not gone again. With --all every single call fails. --callers N is a sample: N callers
 * tell ways apart, and no call of any kind goes a way twice.
 */
#define _GNU_SOURCE /* nftw */
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "machine/judge.h"

#define TOLD_MAX 6 /* defects of a case that are told; all count */
#define JOBS_MAX 16
#define FAILURES_MAX (2 * FAULT_CHAINS_MAX)

/* Of one case, shared with the process that judges. */
struct tally {
    unsigned long calls[FAULT_KIND_COUNT], played[FAULT_KIND_COUNT];
    unsigned long places; /* ways to a call for memory */
    unsigned long endings[3], defects;
};

struct wish {
    bool all, trace;
    const char *only;
    int kind; /* -1: all */
    unsigned long at;
    int jobs, callers;
};

/* Of the case at hand. */
struct playing {
    const struct machine_case *c;
    struct tally *tally;
    struct outcome good;
    size_t count, at, from_definitions; /* failures, sorted: from the start, then from definitions */
};

static struct failure failures[FAILURES_MAX];
static int words; /* where cases are told: standard output is that of the commands */
static struct wish wish = {.kind = -1, .jobs = 1, .callers = FAULT_CALLERS};

/* The occurrences of each way to a call, by hash: a table with open addressing. */
#define CHAIN_TABLE (1u << 19)
static struct chain {
    uint32_t hash;
    unsigned long count, seen;
    bool is_new; /* no case went this way before */
} chains[CHAIN_TABLE];

static struct chain *chain_of(uint32_t hash)
{
    size_t i = hash % CHAIN_TABLE;

    while (chains[i].hash && chains[i].hash != hash)
        i = (i + 1) % CHAIN_TABLE;
    chains[i].hash = hash;
    return &chains[i];
}

/* Ways that a case went, whichever job played it: the other side of `chains`. */
static uint32_t *gone;

/* True the first time. */
static bool go(uint32_t hash)
{
    size_t i = hash % CHAIN_TABLE;

    while (gone[i] && gone[i] != hash)
        i = (i + 1) % CHAIN_TABLE;
    return __atomic_exchange_n(&gone[i], hash, __ATOMIC_RELAXED) != hash;
}

static void add(struct playing *p, enum fault_kind kind, unsigned long at, bool stays)
{
    if ((wish.kind >= 0 && (int)kind != wish.kind) || (wish.at && at != wish.at))
        return;
    failures[p->count++] = (struct failure){kind, at, stays};
}

static void choose_memory(struct playing *p, unsigned long calls)
{
    memset(chains, 0, sizeof chains);
    for (unsigned long i = 0; i < calls; i++)
        if (faults->chains[i] && chain_of(faults->chains[i])->count++ == 0)
            p->tally->places++;
    for (unsigned long i = 0; i < calls; i++) {
        if (!faults->chains[i])
            continue;
        struct chain *chain = chain_of(faults->chains[i]);
        if (chain->seen++ == 0)
            chain->is_new = go(chain->hash);
        if (chain->is_new && chain->seen == 1)
            add(p, FAULT_MEMORY, i + 1, true);
        if (wish.all || wish.at ||
            (chain->is_new && (chain->seen == 1 || chain->seen == chain->count)))
            add(p, FAULT_MEMORY, i + 1, false);
    }
}

static bool after_definitions(const struct failure *f)
{
    const struct definitions_read *d = play_definitions();
    return d->seen && f->at > d->after[f->kind];
}

/* Those that come after the definitions go to the end: they share the way up to there. */
static void choose(struct playing *p)
{
    static struct failure late[FAILURES_MAX];
    size_t early_count = 0, late_count = 0;

    choose_memory(p, faults->calls[FAULT_MEMORY] < FAULT_CHAINS_MAX ? faults->calls[FAULT_MEMORY]
                                                                    : FAULT_CHAINS_MAX);
    for (int kind = FAULT_OPEN; kind < FAULT_KIND_COUNT; kind++)
        for (unsigned long i = 1; i <= faults->calls[kind]; i++)
            if (wish.callers == FAULT_CALLERS ||
                (i <= FAULT_WAYS_MAX && go(faults->ways[kind][i - 1] + (uint32_t)kind)))
                add(p, (enum fault_kind)kind, i, kind == FAULT_WRITE);
    for (size_t i = 0; i < p->count; i++)
        if (after_definitions(&failures[i]))
            late[late_count++] = failures[i];
        else
            failures[early_count++] = failures[i];
    memcpy(failures + early_count, late, late_count * sizeof *late);
    p->from_definitions = early_count;
}

static void judge_one(struct playing *p, const struct failure *f, const struct outcome *o)
{
    enum ending ending = ENDED_SAME;
    bool failed = faults->failed > 0;
    const char *function = failed ? faults->function : "nothing";
    const char *wrong = judge(p->c, &p->good, f, o, failed, function, &ending);

    p->tally->played[f->kind]++;
    if (!wrong)
        p->tally->endings[ending]++;
    else if (p->tally->defects++ < TOLD_MAX || wish.all)
        dprintf(words, "not ok: %s: %s call %lu%s (%s): %s\n", p->c->name, fault_name(f->kind), f->at,
               f->stays ? " and all after it" : "", function, wrong);
}

static void judge_late(void *context, const struct failure *f, const struct outcome *o)
{
    judge_one(context, f, o);
}

static bool next_late(void *context, struct failure *f)
{
    struct playing *p = context;

    if (p->at >= p->count)
        return false;
    *f = failures[p->at++];
    return true;
}

static void show(const struct playing *p)
{
    const struct tally *t = p->tally;

    dprintf(words, "figure %s: calls failed:", p->c->name);
    for (int kind = 0; kind < FAULT_KIND_COUNT; kind++)
        if (t->played[kind])
            dprintf(words, " %s %lu of %lu,", fault_name((enum fault_kind)kind), t->played[kind],
                   t->calls[kind]);
    dprintf(words, " from %lu places; refused %lu, told %lu, without effect %lu, defects %lu\n", t->places,
           t->endings[ENDED_REFUSED], t->endings[ENDED_TOLD], t->endings[ENDED_SAME], t->defects);
}

/* Twice without a failure: the same must come out, or no other outcome says anything. */
static bool play_good(struct playing *p)
{
    static const struct failure none = {.kind = FAULT_MEMORY};
    struct outcome again;

    play_first(p->c);
    play(p->c, &none, &again);
    memset(faults->chains, 0, sizeof faults->chains);
    memset(faults->ways, 0, sizeof faults->ways);
    faults->chains_on = true;
    play(p->c, &none, &p->good);
    faults->chains_on = false;
    memcpy(p->tally->calls, faults->calls, sizeof faults->calls);
    enum ending ending;
    const char *wrong = judge(p->c, &p->good, &none, &again, false, NULL, &ending);
    outcome_release(&again);
    if (wrong)
        dprintf(words, "not ok: %s, without a failure: %s\n", p->c->name, wrong);
    return !wrong;
}

static void play_case(const struct machine_case *c, struct tally *tally)
{
    static struct playing p;
    struct outcome outcome;

    p = (struct playing){.c = c, .tally = tally};
    if (!play_good(&p)) {
        tally->defects++;
        return;
    }
    choose(&p);
    faults->trace = wish.trace;
    for (; p.at < p.from_definitions; p.at++) {
        play(c, &failures[p.at], &outcome);
        judge_one(&p, &failures[p.at], &outcome);
        outcome_release(&outcome);
    }
    if (p.at < p.count)
        play_from_definitions(c, next_late, judge_late, &p);
    outcome_release(&p.good);
    show(&p);
}

/* Each job takes the next case that nobody has taken, in a folder of its own. */
static void work(const char *inputs, const char *folder, int job, struct tally *tallies,
                 size_t *taken)
{
    char path[4096];

    snprintf(path, sizeof path, "%s/%d", folder, job);
    if (mkdir(path, 0777) < 0 || chdir(path) < 0 || symlink(inputs, "in") < 0) {
        perror(path);
        _exit(EXIT_FAILURE);
    }
    words = dup(STDOUT_FILENO);
    play_start();
    faults->callers = wish.callers;
    for (;;) {
        size_t at = __atomic_fetch_add(taken, 1, __ATOMIC_RELAXED);
        if (at >= machine_case_count)
            break;
        const struct machine_case *c = &machine_cases[at];
        if (!wish.only || strcmp(wish.only, c->name) == 0)
            play_case(c, &tallies[at]);
    }
    _exit(EXIT_SUCCESS);
}

static int work_all(const char *inputs, const char *folder)
{
    struct shared {
        size_t taken;
        struct tally tallies[];
    } *shared = mmap(NULL, sizeof *shared + machine_case_count * sizeof(struct tally),
                     PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    unsigned long played = 0, defects = 0;
    int status;

    gone = mmap(NULL, CHAIN_TABLE * sizeof *gone, PROT_READ | PROT_WRITE,
                MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    if (shared == MAP_FAILED || gone == MAP_FAILED)
        return EXIT_FAILURE;
    for (int i = 0; i < wish.jobs; i++)
        if (fork() == 0)
            work(inputs, folder, i, shared->tallies, &shared->taken);
    while (wait(&status) > 0)
        if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
            printf("not ok: a job ended with status %d\n", status);
            defects++;
        }
    for (size_t i = 0; i < machine_case_count; i++) {
        for (int kind = 0; kind < FAULT_KIND_COUNT; kind++)
            played += shared->tallies[i].played[kind];
        defects += shared->tallies[i].defects;
    }
    printf("%lu passed, %lu failed\n", played - (defects < played ? defects : played), defects);
    return defects > 0 || played == 0 ? EXIT_FAILURE : EXIT_SUCCESS;
}

static int kind_of(const char *name)
{
    for (int kind = 0; kind < FAULT_KIND_COUNT; kind++)
        if (strcmp(name, fault_name((enum fault_kind)kind)) == 0)
            return kind;
    return -1;
}

static void read_wish(int argc, char **argv)
{
    for (int i = 1; i + 1 < argc; i++) {
        if (strcmp(argv[i], "--all") == 0)
            wish.all = true;
        else if (strcmp(argv[i], "--trace") == 0)
            wish.trace = true;
        else if (strcmp(argv[i], "--case") == 0)
            wish.only = argv[++i];
        else if (strcmp(argv[i], "--kind") == 0)
            wish.kind = kind_of(argv[++i]);
        else if (strcmp(argv[i], "--at") == 0)
            wish.at = strtoul(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--jobs") == 0)
            wish.jobs = (int)strtol(argv[++i], NULL, 10);
        else if (strcmp(argv[i], "--callers") == 0)
            wish.callers = (int)strtol(argv[++i], NULL, 10);
    }
    if (wish.callers < 1 || wish.callers > FAULT_CALLERS)
        wish.callers = FAULT_CALLERS;
    wish.jobs = wish.jobs < 1 ? 1 : wish.jobs > JOBS_MAX ? JOBS_MAX : wish.jobs;
}

int main(int argc, char **argv)
{
    char inputs[4096], folder[] = "/tmp/drawbar-machine-XXXXXX", remove[64];

    read_wish(argc, argv);
    if (argc < 2 || !realpath(argv[argc - 1], inputs) || !mkdtemp(folder)) {
        fprintf(stderr, "drawbar-machine: no inputs\n");
        return EXIT_FAILURE;
    }
    int status = work_all(inputs, folder);
    snprintf(remove, sizeof remove, "rm -rf %s", folder);
    return system(remove) == 0 ? status : EXIT_FAILURE;
}
