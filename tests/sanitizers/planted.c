/*
 * planted.c - faults put here on purpose: the run of the sanitizers must fail on
 * each. Otherwise a green run would prove nothing.
 */
#include <criterion/criterion.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* Kept out of the optimiser's sight. */
static volatile int one = 1;

Test(planted, leak)
{
    char *lost = malloc(64);
    lost[0] = (char)one;
    cr_assert_eq(lost[0], 1);
    lost = NULL;
}

Test(planted, heap_overflow)
{
    char *block = malloc(8);
    block[7 + one] = 1;
    free(block);
}

Test(planted, signed_overflow)
{
    int sum = INT_MAX - 1 + one;
    sum += one;
    cr_assert_neq(sum, 0);
}

Test(planted, nothing_wrong)
{
    cr_assert_eq(one, 1);
}
