/* interrupt.c - see interrupt.h. Handlers call nothing but what POSIX calls safe there. */
#include "commands/interrupt.h"

#include <stddef.h>
#include <string.h>
#include <unistd.h>

#define GUARDED_MAX 4u /* files that a command writes at the same time: one */

static const int deadly[] = {SIGINT, SIGTERM, SIGHUP};

static const char *volatile guarded[GUARDED_MAX];
static volatile sig_atomic_t stop;

static void end(int number)
{
    for (size_t i = 0; i < GUARDED_MAX; i++)
        if (guarded[i])
            unlink(guarded[i]);
    signal(number, SIG_DFL);
    raise(number);
}

/* Whoever waits for more input is woken: no SA_RESTART. */
static void catch(int number, void (*handler)(int))
{
    struct sigaction action = {.sa_handler = handler}, before;

    sigemptyset(&action.sa_mask);
    if (sigaction(number, NULL, &before) == 0 && before.sa_handler != SIG_IGN)
        sigaction(number, &action, NULL);
}

void interrupt_start(void)
{
    for (size_t i = 0; i < sizeof deadly / sizeof deadly[0]; i++)
        catch(deadly[i], end);
}

void interrupt_hold(sigset_t *before)
{
    sigset_t held;

    sigemptyset(&held);
    for (size_t i = 0; i < sizeof deadly / sizeof deadly[0]; i++)
        sigaddset(&held, deadly[i]);
    sigprocmask(SIG_BLOCK, &held, before);
}

void interrupt_release(const sigset_t *before)
{
    sigprocmask(SIG_SETMASK, before, NULL);
}

void interrupt_guard(const char *path)
{
    for (size_t i = 0; i < GUARDED_MAX; i++)
        if (!guarded[i]) {
            guarded[i] = path;
            return;
        }
}

void interrupt_unguard(const char *path)
{
    for (size_t i = 0; i < GUARDED_MAX; i++)
        if (guarded[i] == path)
            guarded[i] = NULL;
}

static void stop_reading(int number)
{
    stop = 1;
    catch(number, end);
}

const volatile sig_atomic_t *interrupt_expect(void)
{
    stop = 0;
    catch(SIGINT, stop_reading);
    return &stop;
}

void interrupt_expect_no_more(void)
{
    catch(SIGINT, end);
}
