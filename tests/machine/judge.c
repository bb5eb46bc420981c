/* judge.c - see judge.h. */
#define _GNU_SOURCE /* strcasestr */
#include "machine/judge.h"

#include <stdio.h>
#include <string.h>

#include "commands/commands.h"

static char words[512]; /* of the defect */

static bool same(const struct shot *a, const struct shot *b)
{
    return a->size == b->size && memcmp(a->data, b->data, a->size) == 0;
}

static const struct shot *find(const struct outcome *o, const char *path)
{
    for (size_t i = 0; i < o->file_count; i++)
        if (strcmp(o->files[i].path, path) == 0)
            return &o->files[i];
    return NULL;
}

static bool is_old(const struct machine_case *c, const struct shot *file)
{
    for (size_t i = 0; i < CASE_OLD_MAX && c->old[i]; i++)
        if (strcmp(c->old[i], file->path) == 0)
            return strcmp(file->data, MACHINE_OLD_CONTENT) == 0;
    return false;
}

/* What a failure is called where it is told. */
static const char *reason_of(const struct failure *f)
{
    return f->kind == FAULT_MEMORY ? "out of memory" : strerror(fault_number(f->kind));
}

static bool tells(const struct shot *shot, const struct failure *f)
{
    return strcasestr(shot->data, reason_of(f)) != NULL ||
           (f->kind == FAULT_MEMORY && strcasestr(shot->data, "cannot allocate memory"));
}

static bool all_same(const struct outcome *good, const struct outcome *o)
{
    bool alike = o->status == good->status && same(&o->out, &good->out) &&
                 same(&o->err, &good->err) && o->file_count == good->file_count;

    for (size_t i = 0; alike && i < o->file_count; i++)
        alike = strcmp(o->files[i].path, good->files[i].path) == 0 &&
                same(&o->files[i], &good->files[i]);
    return alike;
}

/* The end is what a half-written file lacks. */
static bool ends_alike(const struct shot *a, const struct shot *b)
{
    const size_t tail = 8;
    return a->size >= tail && b->size >= tail &&
           memcmp(a->data + a->size - tail, b->data + b->size - tail, tail) == 0;
}

/* The files of an inbox tell together: what is left out of one has its reason in another. */
static bool told(const struct outcome *o, const struct failure *f);
static bool fits_in_site(const struct machine_case *c, const struct failure *f,
                         const struct outcome *o, const struct shot *file,
                         const struct shot *wanted)
{
    return strncmp(c->name, "inbox", 5) == 0 && told(o, f) &&
           (file->size == 0 || file->data[0] == '{' || ends_alike(file, wanted));
}

/* Every file is whole: as without the failure, of the earlier run, or one that tells the reason. */
static const char *judge_files(const struct machine_case *c, const struct outcome *good,
                               const struct failure *f, const struct outcome *o)
{
    for (size_t i = 0; i < o->file_count; i++) {
        const struct shot *file = &o->files[i], *wanted = find(good, file->path);
        if (!wanted)
            snprintf(words, sizeof words, "left a file behind: %s", file->path);
        else if (!same(file, wanted) && !is_old(c, file) && !tells(file, f) &&
                 !fits_in_site(c, f, o, file, wanted))
            snprintf(words, sizeof words, "%s is neither whole nor of the earlier run", file->path);
        else
            continue;
        return words;
    }
    return NULL;
}

static const char *judge_refusal(const struct outcome *good, const struct failure *f,
                                 const struct outcome *o)
{
    const char *line = o->err.data, *end = strchr(line, '\n');

    if (strncmp(line, "drawbar: ", 9) != 0 || !end || end[1] != '\0') {
        snprintf(words, sizeof words, "not one line on standard error: \"%.200s\"", line);
        return words;
    }
    if (f->kind == FAULT_MEMORY && !tells(&o->err, f)) {
        snprintf(words, sizeof words, "does not say that memory is out: \"%.200s\"", line);
        return words;
    }
    if (o->out.size > good->out.size || memcmp(o->out.data, good->out.data, o->out.size) != 0)
        return "wrote to standard output what it would not have written otherwise";
    return NULL;
}

/* The reason stands where people look for it: in the output, or in a file beside. */
static bool told(const struct outcome *o, const struct failure *f)
{
    bool is = tells(&o->out, f) || tells(&o->err, f);

    for (size_t i = 0; !is && i < o->file_count; i++)
        is = tells(&o->files[i], f);
    return is;
}

/* Went on, but not as if nothing had happened. */
static const char *judge_other(const struct outcome *good, const struct failure *f,
                               const struct outcome *o)
{
    if (o->status != EXIT_CLEAN && o->status != EXIT_FOUND) {
        snprintf(words, sizeof words, "ended with status %d", o->status);
        return words;
    }
    if (!same(&o->out, &good->out) && !told(o, f))
        return "standard output is other, and nothing says why";
    if (!same(&o->err, &good->err) && !tells(&o->err, f))
        return "standard error is other, and does not say why";
    if (o->file_count < good->file_count && !told(o, f))
        return "a file is missing, and the status does not say so";
    return NULL;
}

static const char *judge_end(const struct outcome *o)
{
    if (o->died_of) {
        snprintf(words, sizeof words, "died of signal %d: %.300s", o->died_of, o->err.data);
        return words;
    }
    if (o->status < 0)
        return "exited on its own";
    if (o->live > 0) {
        snprintf(words, sizeof words, "kept %zu blocks of memory", o->live);
        return words;
    }
    return o->descriptors != 0 ? "left files open" : NULL;
}

const char *judge(const struct machine_case *c, const struct outcome *good, const struct failure *f,
                  const struct outcome *o, bool failed, const char *function, enum ending *ending)
{
    const char *wrong = judge_end(o);

    if (!wrong && all_same(good, o)) {
        *ending = ENDED_SAME;
        return NULL;
    }
    if (!wrong && !failed)
        return "came out otherwise without a failure";
    if (!wrong && (f->kind == FAULT_INTERRUPT || f->kind == FAULT_SHORT))
        return "what is no failure changed the outcome";
    *ending = o->status == EXIT_UNUSABLE ? ENDED_REFUSED : ENDED_TOLD;
    if (!wrong)
        wrong = judge_files(c, good, f, o);
    if (!wrong)
        wrong = o->status == EXIT_UNUSABLE ? judge_refusal(good, f, o) : judge_other(good, f, o);
    return wrong && machine_exception(c, f->kind, function) ? NULL : wrong;
}
