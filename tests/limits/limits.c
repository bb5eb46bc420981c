/*
 * limits.c - plays recordings against the ceilings of drawbar/limits.h: memory stays below a
 * bound, the program comes to an end, and says what it did not keep.
 *
 *     drawbar-limits PROGRAM SAMPLE [CASE]
 */
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <unistd.h>

#include "limits/flows.h"

#define ARGUMENTS_MAX 8
#define HANG_SECONDS 240 /* hundreds of times what any of them takes */
#define OUTPUT_MAX (64u << 20)

/*
 * The sum of the ceilings of limits.h is above this (series and transfers alone may take 16 MiB
 * each); no flow reaches all of them at once. A machine with 1 GiB does not notice.
 */
#define MEMORY_MIB 64
#define REPORT_MIB 96 /* the bytes of a report, once more as texts, and its values at 150 bytes */

/* "FLOW" stands for the file that the flow was written to, "FOLDER" for where that is, "SITE" for a
 * folder that is not there yet, "SAMPLE" for a sound recording. */
struct limit_case {
    const char *name;
    flow *flow; /* goes to standard input, but where there is a FLOW among the arguments */
    const char *arguments[ARGUMENTS_MAX];
    int status;
    const char *says[3]; /* must stand in what comes out */
};

static const struct limit_case cases[] = {
    {"addresses", flow_addresses, {"check", "--json", "-", "-"}, 0, {"\"frames\":\t2032"}},
    {"parameter-groups", flow_groups, {"check", "-"}, 1, {"counted only"}},
    {"trouble-codes", flow_codes, {"check", "-"}, 1, {"counted only"}},
    {"sessions", flow_sessions, {"check", "--json", "-", "-"}, 1, {"\"refused\""}},
    {"broadcasts", flow_broadcasts, {"check", "--json", "-", "-"}, 0, {"\"refused\""}},
    {"sessions-printed", flow_sessions, {"print", "-"}, 0, {"beyond"}},
    {"interfaces", flow_interfaces, {"check", "-"}, 1, {"interfaces"}},
    {"line-of-1-GB", flow_long_line, {"check", "-"}, 1, {"line is longer"}},
    {"gzip-of-zeros", flow_packed_zeros, {"check", "-"}, 2, {"drawbar: -: "}},
    {"gzip-of-frames", flow_packed_frames, {"check", "-"}, 0, {"frames"}},
    {"deep-rig", flow_deep_json, {"check", "--rig", "FLOW", "SAMPLE"}, 2, {"too deep"}},
    {"large-rig", flow_large_json, {"check", "--rig", "FLOW", "SAMPLE"}, 2, {"is larger than"}},
    {"deep-definitions", flow_deep_json, {"messages", "--verify", "FLOW"}, 1, {"too deep"}},
    {"large-definitions", flow_large_json, {"messages", "--verify", "FLOW"}, 2, {"is larger than"}},
    {"report", flow_report, {"inbox", "--reports", "FOLDER", "--out", "SITE"}, 1,
     {"findings beyond"}},
    {"heavy-report", flow_heavy_report, {"inbox", "--reports", "FOLDER", "--out", "SITE"}, 0,
     {"1 uploads, 1 findings"}},
    {"vast-report", flow_vast_report, {"inbox", "--reports", "FOLDER", "--out", "SITE"}, 0,
     {"1 reports of more bytes or values than an inbox reads, left alone"}},
    {"dense-report", flow_dense_report, {"inbox", "--reports", "FOLDER", "--out", "SITE"}, 0,
     {"1 reports of more bytes or values than an inbox reads, left alone"}},
    {"members", flow_many_members, {"messages", "--verify", "FLOW"}, 1, {"not shown"}},
};

static char scratch[] = "/tmp/drawbar-limits-XXXXXX";
static char output[OUTPUT_MAX + 1];

static void path_in(char path[64], const char *name)
{
    snprintf(path, 64, "%s/%s", scratch, name);
}

static const struct {
    const char *word, *name;
} places[] = {{"FLOW", "in/flow.json"}, {"FOLDER", "in"}, {"SITE", "site"}};
#define PLACES (sizeof places / sizeof places[0])

static bool flows_into_file(const struct limit_case *c)
{
    for (size_t i = 0; i < ARGUMENTS_MAX && c->arguments[i]; i++)
        if (strcmp(c->arguments[i], "FLOW") == 0 || strcmp(c->arguments[i], "FOLDER") == 0)
            return true;
    return false;
}

static void run(const char *program, const char *sample, const struct limit_case *c, int in)
{
    char *arguments[ARGUMENTS_MAX + 2] = {(char *)(uintptr_t)program};
    char paths[PLACES][64], out[64];

    path_in(out, "out");
    for (size_t i = 0; i < PLACES; i++)
        path_in(paths[i], places[i].name);
    for (size_t i = 0; i < ARGUMENTS_MAX && c->arguments[i]; i++) {
        const char *a = c->arguments[i];
        for (size_t k = 0; k < PLACES; k++)
            a = strcmp(c->arguments[i], places[k].word) == 0 ? paths[k] : a;
        a = strcmp(a, "SAMPLE") == 0 ? sample : a;
        arguments[i + 1] = (char *)(uintptr_t)a;
    }
    int file = open(out, O_WRONLY | O_CREAT | O_TRUNC, 0600);
    dup2(in, STDIN_FILENO);
    dup2(file, STDOUT_FILENO);
    dup2(file, STDERR_FILENO);
    signal(SIGPIPE, SIG_DFL);
    alarm(HANG_SECONDS); /* outlives exec */
    execv(program, arguments);
    _exit(127);
}

static bool write_flow(const struct limit_case *c, FILE *file)
{
    bool written = c->flow(file);
    return fclose(file) == 0 && written;
}

static bool make_file(const struct limit_case *c)
{
    char path[64];

    path_in(path, "in");
    mkdir(path, 0700);
    path_in(path, "in/flow.json");
    FILE *file = fopen(path, "wb");
    return file && write_flow(c, file);
}

static size_t read_output(void)
{
    char path[64];

    path_in(path, "out");
    FILE *file = fopen(path, "rb");
    size_t size = file ? fread(output, 1, OUTPUT_MAX, file) : 0;
    if (file)
        fclose(file);
    output[size] = '\0';
    return size;
}

static double seconds(const struct timeval *t)
{
    return (double)t->tv_sec + (double)t->tv_usec / 1e6;
}

static bool judge(const struct limit_case *c, int status, const struct rusage *used)
{
    long mib = used->ru_maxrss / 1024;
    bool good = true;

    printf("figure %s: %ld MiB, %.2f s of processor\n", c->name, mib,
           seconds(&used->ru_utime) + seconds(&used->ru_stime));
    if (!WIFEXITED(status) || WEXITSTATUS(status) != c->status) {
        printf("not ok: %s: ended with %s %d, expected status %d\n", c->name,
               WIFEXITED(status) ? "status" : "signal",
               WIFEXITED(status) ? WEXITSTATUS(status) : WTERMSIG(status), c->status);
        good = false;
    }
    bool parsed = c->flow == flow_report || c->flow == flow_heavy_report;
    long most = parsed ? REPORT_MIB : MEMORY_MIB;
    if (mib > most) {
        printf("not ok: %s: took %ld MiB, more than %ld\n", c->name, mib, most);
        good = false;
    }
    for (size_t i = 0; i < 3 && c->says[i]; i++)
        if (!strstr(output, c->says[i])) {
            printf("not ok: %s: does not say \"%s\", but: %.400s\n", c->name, c->says[i], output);
            good = false;
        }
    return good;
}

static bool play(const char *program, const char *sample, const struct limit_case *c)
{
    bool from_file = flows_into_file(c);
    int ends[2], status = 0;
    struct rusage used;

    if ((from_file && !make_file(c)) || pipe(ends) < 0) {
        printf("not ok: %s: no flow: %s\n", c->name, strerror(errno));
        return false;
    }
    fflush(stdout);
    pid_t process = fork();
    if (process == 0) {
        close(ends[1]);
        run(program, sample, c, ends[0]);
    }
    close(ends[0]);
    FILE *to = fdopen(ends[1], "wb");
    if (to && !from_file)
        write_flow(c, to); /* whoever refuses it reads no more: no failure */
    else if (to)
        fclose(to);
    if (wait4(process, &status, 0, &used) < 0)
        return false;
    read_output();
    return judge(c, status, &used);
}

int main(int argc, char **argv)
{
    char remove[64];
    int passed = 0, failed = 0;

    if (argc < 3 || !mkdtemp(scratch))
        return EXIT_FAILURE;
    signal(SIGPIPE, SIG_IGN);
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        if (argc > 3 && strcmp(argv[3], cases[i].name) != 0)
            continue;
        if (play(argv[1], argv[2], &cases[i]))
            passed++;
        else
            failed++;
    }
    snprintf(remove, sizeof remove, "rm -rf %s", scratch);
    printf("%d passed, %d failed\n", passed, failed);
    return system(remove) == 0 && failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}
