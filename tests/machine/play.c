/* play.c - see play.h. */
#define _GNU_SOURCE /* memfd_create, nftw */
#include "machine/play.h"

#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "commands/commands.h"
#include "drawbar/definitions.h"

#define SECONDS_MAX 120 /* a run takes less than one, and more on a busy machine: this is a hang */
#define DESCRIPTORS_MAX 128


/* The system's own calls: this side does not fail. */
int __real_open(const char *path, int flags, ...);
int __real_close(int descriptor);
pid_t __real_fork(void);
pid_t __real_waitpid(pid_t process, int *status, int options);
ssize_t __real_read(int descriptor, void *out, size_t count);
int __real_mkdir(const char *path, mode_t mode);

/* Shared with the process that plays. */
static struct told {
    bool ended, whole_definitions;
    int status, descriptors;
    size_t live;
    struct definitions_read definitions;
} *told;

/* Of play_from_definitions. */
static struct plan {
    const struct machine_case *c;
    bool (*next)(void *context, struct failure *f);
    void (*judge)(void *context, const struct failure *f, const struct outcome *outcome);
    void *context;
} *plan;

static int out_file, err_file, true_error;
static char out_buffer[8192]; /* as the C library would take it */

static void must(bool held, const char *what)
{
    if (!held) {
        dprintf(true_error, "not ok: the machine itself: %s: %s\n", what, strerror(errno));
        _exit(EXIT_FAILURE);
    }
}

void play_start(void)
{
    faults_start();
    void *page = mmap(NULL, sizeof *told, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);

    true_error = dup(STDERR_FILENO);
    must(faults && page != MAP_FAILED, "memory");
    told = page;
    out_file = memfd_create("out", 0);
    err_file = memfd_create("err", 0);
    must(out_file >= 0 && err_file >= 0, "files in memory");
}

const struct definitions_read *play_definitions(void)
{
    return &told->definitions;
}

/* The folder of outputs */

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *where)
{
    (void)status;
    (void)kind;
    return where->level > 0 ? remove(path) : 0;
}

static void clear_folder(const struct machine_case *c)
{
    nftw("out", remove_one, 16, FTW_DEPTH | FTW_PHYS);
    __real_mkdir("out", 0777);
    for (size_t i = 0; i < CASE_OLD_MAX && c->old[i]; i++) {
        int file = __real_open(c->old[i], O_WRONLY | O_CREAT | O_TRUNC, 0666);
        must(write(file, MACHINE_OLD_CONTENT, strlen(MACHINE_OLD_CONTENT)) > 0, "old file");
        __real_close(file);
    }
}

static void take_shot(struct shot *shot, const char *path, int file)
{
    off_t size = lseek(file, 0, SEEK_END);

    snprintf(shot->path, sizeof shot->path, "%s", path);
    shot->size = (size_t)size;
    shot->data = malloc(shot->size + 1);
    must(shot->data && pread(file, shot->data, shot->size, 0) == size, path);
    shot->data[shot->size] = '\0';
}

static struct outcome *collected; /* nftw hands nothing on */

static int collect(const char *path, const struct stat *status, int kind, struct FTW *where)
{
    (void)status;
    (void)where;
    if (kind != FTW_F)
        return 0;
    must(collected->file_count < SHOTS_MAX, "too many files");
    int file = __real_open(path, O_RDONLY);
    must(file >= 0, path);
    take_shot(&collected->files[collected->file_count++], path, file);
    __real_close(file);
    return 0;
}

static int by_path(const void *left, const void *right)
{
    return strcmp(((const struct shot *)left)->path, ((const struct shot *)right)->path);
}

static void take_outcome(struct outcome *o, int status)
{
    *o = (struct outcome){.status = -1};
    if (WIFSIGNALED(status))
        o->died_of = WTERMSIG(status);
    else if (told->ended)
        o->status = told->status;
    o->live = told->live;
    o->descriptors = told->descriptors;
    take_shot(&o->out, "standard output", out_file);
    take_shot(&o->err, "standard error", err_file);
    collected = o;
    nftw("out", collect, 16, FTW_PHYS);
    qsort(o->files, o->file_count, sizeof *o->files, by_path);
}

void outcome_release(struct outcome *o)
{
    free(o->out.data);
    free(o->err.data);
    for (size_t i = 0; i < o->file_count; i++)
        free(o->files[i].data);
}

/* The process that plays */

static int open_descriptors(void)
{
    int count = 0;

    for (int i = 0; i < DESCRIPTORS_MAX; i++)
        count += fcntl(i, F_GETFD) >= 0;
    return count;
}

static void run(const struct machine_case *c)
{
    char *arguments[CASE_ARGUMENTS_MAX + 2] = {(char[]){"drawbar"}};
    int count = 1;

    /* The program may write to its arguments' list, not to their texts. */
    for (int i = 0; i < CASE_ARGUMENTS_MAX && c->arguments[i]; i++)
        arguments[count++] = (char *)(uintptr_t)c->arguments[i];
    int descriptors = open_descriptors();
    FILE *before = stdout;
    stdout = faults_stream(dup(out_file), "w");
    setvbuf(stdout, out_buffer, _IOFBF, sizeof out_buffer);
    faults_forget_live();
    faults->on = true;
    told->status = commands_main(count, arguments);
    fflush(stdout); /* as exit does */
    faults->on = false;
    told->live = faults_live();
    fclose(stdout);
    stdout = before;
    told->descriptors = open_descriptors() - descriptors;
    told->ended = true;
}

static void redirect(void)
{
    dup2(out_file, STDOUT_FILENO);
    dup2(err_file, STDERR_FILENO);
    int nothing = __real_open("/dev/null", O_RDONLY);
    dup2(nothing, STDIN_FILENO);
    if (nothing > STDERR_FILENO)
        __real_close(nothing);
}

void play_first(const struct machine_case *c)
{
    clear_folder(c);
    redirect();
    faults_reset();
    int folder = __real_open(".", O_RDONLY | O_DIRECTORY);
    run(c);
    must(fchdir(folder) == 0, "the way back"); /* the inbox goes to its folder */
    __real_close(folder);
}

static void prepare(const struct machine_case *c, const struct failure *f)
{
    clear_folder(c);
    must(ftruncate(out_file, 0) == 0 && ftruncate(err_file, 0) == 0, "truncate");
    lseek(out_file, 0, SEEK_SET);
    lseek(err_file, 0, SEEK_SET);
    told->ended = false;
    told->whole_definitions = c->whole_definitions;
    told->live = 0;
    told->descriptors = 0;
    faults->kind = f->kind;
    faults->fail_at = f->at;
    faults->stays = f->stays;
    faults->failed = 0;
    faults->function = NULL;
}

/* A group of its own, so that processes that it started end with it. */
static void await_end(pid_t process, struct outcome *outcome)
{
    int status = 0;

    while (__real_waitpid(process, &status, 0) < 0 && errno == EINTR)
        ;
    kill(-process, SIGKILL);
    faults->on = false;
    take_outcome(outcome, status);
}

void play(const struct machine_case *c, const struct failure *f, struct outcome *outcome)
{
    bool chains = faults->chains_on;

    faults_reset();
    faults->chains_on = chains;
    memset(&told->definitions, 0, sizeof told->definitions);
    prepare(c, f);
    pid_t process = __real_fork();
    must(process >= 0, "fork");
    if (process == 0) {
        setpgid(0, 0);
        alarm(SECONDS_MAX);
        redirect();
        run(c);
        _exit(0);
    }
    await_end(process, outcome);
}

/* Returns in the processes that go on from here. */
static void serve(void)
{
    static struct faults at_definitions;
    struct failure f;
    struct outcome outcome;

    faults->on = false;
    memcpy(&at_definitions, faults, offsetof(struct faults, chains));
    while (plan->next(plan->context, &f)) {
        memcpy(faults->calls, at_definitions.calls, sizeof faults->calls);
        prepare(plan->c, &f);
        pid_t process = __real_fork();
        must(process >= 0, "fork");
        if (process == 0) {
            setpgid(0, 0);
            alarm(SECONDS_MAX);
            faults->on = true;
            return;
        }
        await_end(process, &outcome);
        plan->judge(plan->context, &f, &outcome);
        outcome_release(&outcome);
    }
    _exit(0);
}

struct dbr_definitions *__real_dbr_definitions_new(struct dbr_error *error);
struct dbr_definitions *__wrap_dbr_definitions_new(struct dbr_error *error);
struct dbr_definitions *__wrap_dbr_definitions_new(struct dbr_error *error)
{
    struct definitions_read *d = &told->definitions;
    bool first = !d->seen;

    if (first)
        memcpy(d->before, faults->calls, sizeof d->before);
    d->seen = true;
    /* The same for every command: one of them fails what happens here. */
    bool chains = faults->chains_on;
    faults->chains_on = chains && told->whole_definitions;
    struct dbr_definitions *definitions = __real_dbr_definitions_new(error);
    faults->chains_on = chains;
    if (first) {
        memcpy(d->after, faults->calls, sizeof d->after);
        if (plan)
            serve();
    }
    return definitions;
}

void play_from_definitions(const struct machine_case *c,
                           bool (*next)(void *context, struct failure *f),
                           void (*judge)(void *context, const struct failure *f,
                                         const struct outcome *outcome),
                           void *context)
{
    struct plan wanted = {c, next, judge, context};
    int status;

    faults_reset();
    memset(&told->definitions, 0, sizeof told->definitions);
    prepare(c, &(struct failure){FAULT_MEMORY, 0, false});
    pid_t process = __real_fork();
    must(process >= 0, "fork");
    if (process == 0) {
        plan = &wanted;
        redirect();
        run(c); /* ends in serve(), but in the processes that go on from there */
        _exit(0);
    }
    __real_waitpid(process, &status, 0);
    must(WIFEXITED(status) && WEXITSTATUS(status) == 0, "the server of runs");
}
