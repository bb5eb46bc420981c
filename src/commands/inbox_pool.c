/* inbox_pool.c - see inbox_pool.h. */
#include "commands/inbox_pool.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "drawbar/limits.h"

#define MS_PER_S INT64_C(1000)
#define NS_PER_MS 1000000

struct worker {
    pid_t process; /* 0: none */
    int tell, hear; /* our ends of its pipes; `tell` is -1 where it cannot be told any more */
    bool busy;
    bool given_up;
    size_t piece; /* that it was told */
    int64_t since_ms;
};

struct crew {
    const struct pool *pool;
    size_t next; /* piece that nobody was told yet */
    bool hopeless;
    char text[POOL_TEXT_MAX]; /* why */
    struct worker workers[DBR_INBOX_JOBS_MAX];
};

/* All of `size` bytes; false at the end of the pipe, or where it broke. */
static bool read_whole(int descriptor, void *to, size_t size)
{
    for (size_t at = 0; at < size;) {
        ssize_t count = read(descriptor, (char *)to + at, size - at);
        if (count < 0 && errno == EINTR)
            continue;
        if (count <= 0)
            return false;
        at += (size_t)count;
    }
    return true;
}

static bool write_whole(int descriptor, const void *from, size_t size)
{
    for (size_t at = 0; at < size;) {
        ssize_t count = write(descriptor, (const char *)from + at, size - at);
        if (count < 0 && errno == EINTR)
            continue;
        if (count <= 0)
            return false;
        at += (size_t)count;
    }
    return true;
}

/* The life of a worker. What it could print (progress) belongs to nobody. */
static void serve(const struct pool *pool, int hear, int tell)
{
    struct pool_result result;
    size_t piece;

    if (isatty(STDERR_FILENO)) {
        int nowhere = open("/dev/null", O_WRONLY);
        if (nowhere >= 0)
            dup2(nowhere, STDERR_FILENO);
    }
    while (read_whole(hear, &piece, sizeof piece)) {
        memset(&result, 0, sizeof result);
        result.piece = piece;
        pool->work(pool->context, &result);
        if (!write_whole(tell, &result, sizeof result))
            break;
    }
    _exit(0);
}

/* The ends of other workers' pipes: held open here, they would outlive the caller. */
static void leave_others(const struct crew *crew)
{
    for (unsigned i = 0; i < crew->pool->jobs; i++)
        if (crew->workers[i].process > 0) {
            if (crew->workers[i].tell >= 0)
                close(crew->workers[i].tell);
            close(crew->workers[i].hear);
        }
}

static bool start(struct crew *crew, struct worker *worker)
{
    int to[2], from[2];

    if (pipe(to) < 0)
        return false;
    if (pipe(from) < 0) {
        close(to[0]);
        close(to[1]);
        return false;
    }
    fflush(NULL);
    pid_t process = fork();
    if (process == 0) {
        leave_others(crew);
        close(to[1]);
        close(from[0]);
        serve(crew->pool, to[0], from[1]);
    }
    close(to[0]);
    close(from[1]);
    if (process < 0) {
        close(to[1]);
        close(from[0]);
        return false;
    }
    *worker = (struct worker){.process = process, .tell = to[1], .hear = from[0]};
    return true;
}

/* A clock that nobody sets. */
static int64_t now_ms(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return now.tv_sec * MS_PER_S + now.tv_nsec / NS_PER_MS;
}

/* Closes the pipes of a worker and waits for its end. */
static int dismiss(struct worker *worker)
{
    int status = 0;

    if (worker->tell >= 0)
        close(worker->tell);
    close(worker->hear);
    while (waitpid(worker->process, &status, 0) < 0 && errno == EINTR)
        ;
    worker->process = 0;
    return status;
}

/* The next piece for a worker without one; one is started where there is none. */
static void employ(struct crew *crew, struct worker *worker)
{
    if (worker->busy || crew->hopeless || crew->next >= crew->pool->count ||
        (worker->process == 0 && !start(crew, worker)))
        return;
    worker->piece = crew->next;
    /* Whoever cannot be told ends for want of a piece; the end of its pipe will say so. */
    if (!write_whole(worker->tell, &worker->piece, sizeof worker->piece)) {
        close(worker->tell);
        worker->tell = -1;
    }
    worker->since_ms = now_ms();
    worker->busy = true;
    crew->next++;
}

/* What became of a piece whose process ended before it answered. */
static void describe_end(const struct crew *crew, struct worker *worker, struct pool_result *result)
{
    int status = dismiss(worker);

    *result = (struct pool_result){.piece = worker->piece, .died = true};
    if (worker->given_up)
        snprintf(result->text, sizeof result->text,
                 "was given up after %u s; --limit allows it more", crew->pool->limit_s);
    else if (WIFSIGNALED(status))
        snprintf(result->text, sizeof result->text,
                 "the program was ended by signal %d while it read this", WTERMSIG(status));
    else
        snprintf(result->text, sizeof result->text,
                 "the program ended with status %d while it read this", WEXITSTATUS(status));
}

/* The worker has its next piece before anybody looks at what it brought. */
static void collect(struct crew *crew, struct worker *worker)
{
    struct pool_result result = {0};

    if (!read_whole(worker->hear, &result, sizeof result))
        describe_end(crew, worker, &result);
    worker->busy = false;
    if (result.hopeless && !crew->hopeless) {
        crew->hopeless = true;
        memcpy(crew->text, result.text, sizeof crew->text);
    }
    employ(crew, worker);
    crew->pool->done(crew->pool->context, &result);
}

/* Kills those that had their time, which ends their pipes. Returns how long until the next, ms. */
static int give_up(struct crew *crew)
{
    int64_t limit_ms = crew->pool->limit_s * MS_PER_S, now = now_ms(), next_ms = INT_MAX;

    for (unsigned i = 0; i < crew->pool->jobs; i++) {
        struct worker *worker = &crew->workers[i];
        int64_t left_ms = worker->since_ms + limit_ms - now;
        if (!worker->busy || worker->given_up)
            continue;
        worker->given_up = left_ms <= 0;
        if (worker->given_up)
            kill(worker->process, SIGKILL);
        else if (left_ms < next_ms)
            next_ms = left_ms;
    }
    return (int)next_ms;
}

/* Waits for answers, and takes them. False: nobody is at work. */
static bool attend(struct crew *crew)
{
    struct pollfd polls[DBR_INBOX_JOBS_MAX];
    struct worker *of[DBR_INBOX_JOBS_MAX];
    nfds_t count = 0;

    for (unsigned i = 0; i < crew->pool->jobs; i++)
        if (crew->workers[i].busy) {
            polls[count] = (struct pollfd){.fd = crew->workers[i].hear, .events = POLLIN};
            of[count++] = &crew->workers[i];
        }
    if (count == 0)
        return false;
    if (poll(polls, count, give_up(crew)) < 0)
        return errno == EINTR;
    for (nfds_t i = 0; i < count; i++)
        if (polls[i].revents)
            collect(crew, of[i]);
    return true;
}

int pool_run(const struct pool *pool, struct dbr_error *error)
{
    struct crew crew = {.pool = pool};
    struct sigaction ignore = {.sa_handler = SIG_IGN}, before;

    sigaction(SIGPIPE, &ignore, &before); /* of a worker that died while it was told */
    do
        for (unsigned i = 0; i < pool->jobs; i++)
            employ(&crew, &crew.workers[i]);
    while (attend(&crew));
    for (unsigned i = 0; i < pool->jobs; i++)
        if (crew.workers[i].process > 0)
            dismiss(&crew.workers[i]);
    sigaction(SIGPIPE, &before, NULL);
    if (crew.hopeless)
        return dbr_error_set(error, DBR_ERROR_WRITE, "%s", crew.text);
    if (crew.next < pool->count)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "no process can be started: %s",
                             strerror(errno));
    return 0;
}
