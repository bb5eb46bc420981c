/* address_words.c - addresses: a contest that the recording does not see the end of, and who owes a
 * claim together with whom (SAE J1939-81). */
#include <criterion/criterion.h>
#include <string.h>

#include "support/story.h"

static const char zeros[] = "0000000000000000";

static void beat(struct story *s, uint8_t address, double from, double to)
{
    story_beat(s, story_id(6, 65301, 255, address), 0.2, from, to, zeros);
}

static bool says(const struct dbr_finding *f, const char *words)
{
    for (size_t i = 0; f && i < f->evidence.count; i++)
        if (strstr(f->evidence.items[i], words))
            return true;
    return false;
}

static size_t findings_of(const struct outcome *o, const char *code)
{
    size_t count = 0;

    for (size_t i = 0; i < o->diagnosis->finding_count; i++)
        count += strcmp(o->diagnosis->findings[i].code, code) == 0;
    return count;
}

/* A second claim just before the end: what became of the loser is not in the recording. */
Test(diagnosis_address_words, a_contest_at_the_end_of_the_recording)
{
    struct story *s = story_new();
    story_background(s, 0, 30.3);
    story_claim(s, 0.2, 131, NAME_WEIGHER);
    beat(s, 131, 0.5, 30);
    story_claim(s, 30.1, 131, NAME_NEWCOMER);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "address-conflict", 131);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(f->severity, DBR_WARNING);
    cr_expect(says(f, "did something that this recording does not show"));
    cr_expect(says(f, "until then the loser had worked under this address"));
    outcome_free(o);
}

/* Six that fall due together are one matter: of one bus, at one time, for one reason. */
Test(diagnosis_address_words, who_owes_a_claim_together_with_whom)
{
    static const struct {
        const char *what;
        double from; /* of a seventh; the six begin at 12 s */
        int bus;
        size_t findings;
    } rows[] = {{"with them", 12, 0, 1}, {"later", 30, 0, 2}, {"on another bus", 12, 1, 2}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        for (uint8_t a = 150; a < 156; a++)
            beat(s, a, 12, 60);
        story_on(s, (uint8_t)rows[i].bus);
        if (rows[i].bus)
            story_background(s, 0, 60);
        beat(s, 160, rows[i].from, 60);
        struct outcome *o = story_tell(s);
        cr_expect_eq(findings_of(o, "address-unclaimed"), rows[i].findings, "%s: %s", rows[i].what,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* One that was asked owes it since then; who only began to send owes it since it began. */
Test(diagnosis_address_words, asked_and_never_asked_are_two_matters)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    beat(s, 170, 0, 60);
    beat(s, 171, 0, 60);
    story_request(s, 14, 18, 170);
    story_request(s, 11, 18, 171); /* it owes for longer than the one that was heard first */
    for (uint8_t a = 150; a < 156; a++)
        beat(s, a, 12, 60);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *first = outcome_finding(o, "address-unclaimed", 170);
    const struct dbr_finding *second = outcome_finding(o, "address-unclaimed", 171);

    cr_assert(first && second, "%s", outcome_codes(o));
    cr_expect_eq(findings_of(o, "address-unclaimed"), 3, "%s", outcome_codes(o));
    cr_expect(says(first, "asked for its claim at 14.0 s, it gave no answer"));
    cr_expect(says(second, "asked for its claim at 11.0 s, it gave no answer"));
    outcome_free(o);
}

/* All are asked at once, and six keep silent. */
Test(diagnosis_address_words, many_that_were_asked_in_vain)
{
    struct story *s = story_new();
    story_background(s, 0, 40);
    story_claim(s, 0.2, 240, NAME_TRACTOR);
    beat(s, 240, 0.5, 40);
    for (uint8_t a = 150; a < 156; a++)
        beat(s, a, 0, 40);
    story_request(s, 20, 18, 255);
    story_claim(s, 20.1, 240, NAME_TRACTOR);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "address-unclaimed", -1);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect_eq(findings_of(o, "address-unclaimed"), 1, "%s", outcome_codes(o));
    cr_expect_geq(f->address_count, 6);
    cr_expect_not(outcome_has(o, "address-unclaimed", 240));
    outcome_free(o);
}

/* It says who it is as it gives the address up, and goes on beside the newcomer all the same. */
Test(diagnosis_address_words, two_go_on_and_one_of_them_had_no_name)
{
    struct story *s = story_new();
    story_background(s, 0, 60);
    beat(s, 131, 0.5, 60);
    story_claim(s, 30.0, 131, NAME_NEWCOMER);
    story_claim(s, 30.2, 254, NAME_WEIGHER);
    story_beat(s, story_id(6, 65302, 255, 131), 0.2, 30.3, 60, zeros);
    struct outcome *o = story_tell(s);
    const struct dbr_finding *f = outcome_finding(o, "address-shared", 131);

    cr_assert_not_null(f, "%s", outcome_codes(o));
    cr_expect(says(f, "NAMEs 200A8200FFE00003 and 200A8200FFE00001"), "%s", f->evidence.items[0]);
    outcome_free(o);
}
