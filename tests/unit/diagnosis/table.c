/* The table of rules: every code is whole. */
#include <criterion/criterion.h>
#include <string.h>

#include "diagnosis/rules.h"

Test(diagnosis_table, every_rule_is_whole_and_stands_once)
{
    for (size_t i = 0; i < rule_count; i++) {
        cr_assert_not_null(rules[i].judge, "%s", rules[i].code);
        cr_assert_not_null(rules[i].checks[0], "%s has no next check", rules[i].code);
        cr_assert_not_null(rules[i].cautions, "%s", rules[i].code);
        for (size_t j = 0; j < i; j++)
            cr_assert_str_neq(rules[i].code, rules[j].code);
    }
}

Test(diagnosis_table, faults_that_send_somebody_to_the_machine_carry_cautions)
{
    for (size_t i = 0; i < rule_count; i++)
        if (rules[i].severity == DBR_FAULT)
            cr_assert_not_null(rules[i].cautions[0], "%s", rules[i].code);
}

Test(diagnosis_table, swapping_parts_comes_last)
{
    for (size_t i = 0; i < rule_count; i++)
        for (size_t k = 0; rules[i].checks[k]; k++)
            if (strncmp(rules[i].checks[k], "swap", 4) == 0)
                cr_assert_null(rules[i].checks[k + 1], "%s", rules[i].code);
}
