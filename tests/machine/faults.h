/*
 * faults.h - a machine that fails when it is told to.
 *
 * The program of this folder brings malloc and its like of its own, which every library it is
 * linked to uses as well, and stands between the program and the calls of the system
 * (-Wl,--wrap, see CMakeLists.txt). Each call belongs to one kind; the n-th of a kind fails.
 */
#ifndef TESTS_MACHINE_FAULTS_H
#define TESTS_MACHINE_FAULTS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

/* kind, name, number of the error that the call gives */
#define FAULT_KINDS(X) \
    X(FAULT_MEMORY, "memory", ENOMEM) \
    X(FAULT_OPEN, "open", EMFILE)      /* files, folders, temporary files, processes, pipes */ \
    X(FAULT_READ, "read", EIO)         /* from files, streams, folders, pipes */ \
    X(FAULT_WRITE, "write", ENOSPC)    /* this one and all after it: a full disk stays full */ \
    X(FAULT_CLOSE, "close", EIO)       /* what was open is closed all the same */ \
    X(FAULT_NAME, "name", EACCES)      /* rename, unlink, mkdir */ \
    X(FAULT_LOOK, "look", EACCES)      /* stat and its like */ \
    X(FAULT_INTERRUPT, "interrupt", EINTR) /* of a read, a write, a wait */ \
    X(FAULT_SHORT, "short", 0)         /* a read gives a single byte, as it may */

enum fault_kind {
#define KIND(kind, name, number) kind,
    FAULT_KINDS(KIND)
#undef KIND
    FAULT_KIND_COUNT
};

/* Further callers rarely matter, and inbox and check share the rest. */
#define FAULT_CALLERS 8

#define FAULT_CHAINS_MAX 200000u /* calls for memory of one run whose way is remembered */
#define FAULT_WAYS_MAX 1024u     /* of each other kind */

/* Shared by all processes of a run, as the count goes on in processes that the program starts. */
struct faults {
    bool on;         /* counts and fails */
    bool chains_on;  /* remembers from where calls came */
    int callers;     /* that tell two ways apart, up to FAULT_CALLERS */
    bool trace;      /* shows the way to the call that fails */
    int trace_to;    /* descriptor */
    enum fault_kind kind;
    unsigned long fail_at; /* 0: none */
    bool stays;            /* all calls after it fail as well */
    unsigned long calls[FAULT_KIND_COUNT];
    unsigned long failed;
    const char *function;  /* that failed first */
    uint32_t chains[FAULT_CHAINS_MAX]; /* of the calls for memory: where from, as a hash */
    uint32_t ways[FAULT_KIND_COUNT][FAULT_WAYS_MAX]; /* of the others */
};

extern struct faults *faults;

const char *fault_name(enum fault_kind kind);
int fault_number(enum fault_kind kind);

/* Once, before all else. */
void faults_start(void);

/* Forgets all counts; nothing fails. */
void faults_reset(void);

/* Blocks of memory that were taken and not given back while faults->on, in this process. */
size_t faults_live(void);
void faults_forget_live(void);

/* A stream on a descriptor, which it owns, whose calls of the system are counted as well. */
FILE *faults_stream(int descriptor, const char *mode);

#endif
