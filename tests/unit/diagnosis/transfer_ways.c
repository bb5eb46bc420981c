/*
 * transfer_ways.c - every way in which a message in several frames fails, in words; and which
 * failures belong together. Rules and timers: SAE J1939-21 5.10, ISO 11783-3 5.12.
 */
#include <criterion/criterion.h>
#include <string.h>

#include "support/transfer_story.h"

/* One frame: a control message; or "P2", packet 2; or "O2", packet 2 with other content. */
struct step {
    double at;
    uint8_t from, to;
    const char *what;
};

static void play(struct story *s, const struct step *steps)
{
    for (; steps->what; steps++) {
        if (steps->what[0] == 'P')
            packet(s, steps->at, steps->from, steps->to, (unsigned)(steps->what[1] - '0'));
        else if (steps->what[0] == 'O')
            story_frame(s, steps->at, story_id(7, 60160, steps->to, steps->from),
                        "02FFFFFFFFFFFFFF");
        else
            control(s, steps->at, steps->from, steps->to, steps->what);
    }
}

#define REQUEST {5.0, 140, 38, "10140003FF"}
#define GRANT_ALL {5.01, 38, 140, "110301FFFF"}

/* Ways to fail: the frames, and what must be said of them (up to three things). */
static const struct {
    const char *what;
    struct step steps[10];
    const char *words[3];
} rows[] = {
    {"no answer amid it",
     {REQUEST, {5.01, 38, 140, "110101FFFF"}, {5.02, 140, 38, "P1"}},
     {"stopped answering", "amid Component identification (65259)", "of which 1 came"}},
    {"it is let wait",
     {REQUEST, {5.01, 38, 140, "110001FFFF"}},
     {"let address 140 wait with Component", "and never went on"}},
    {"granted, and nothing comes",
     {REQUEST, GRANT_ALL},
     {"(65259) from address 140 to", "stayed incomplete", "T2: no data packet"}},
    {"granted, and one packet comes",
     {REQUEST, GRANT_ALL, {5.02, 140, 38, "P1"}},
     {"stayed incomplete", "the first missing packet is number 2",
      "frames that the recorder lost would look the same"}},
    {"the sender gives it up",
     {REQUEST, GRANT_ALL, {5.02, 140, 38, "P1"}, {5.1, 140, 38, "FF02FFFFFF"}},
     {"was given up by the sender", "address 140 gave up after 100 ms"}},
    {"the receiver gives it up amid it, and says that it is busy",
     {REQUEST, GRANT_ALL, {5.02, 140, 38, "P1"}, {5.1, 38, 140, "FF01FFFFFF"}},
     {"was given up by the receiver", "may pass: it may work when tried again"}},
    {"refused for a reason that does not pass",
     {REQUEST, {5.1, 38, 140, "FF07FFFFFF"}},
     {"refused to take Component", "abort reason 7"}},
    {"another message instead",
     {REQUEST, GRANT_ALL, {5.02, 140, 38, "P1"}, {5.1, 140, 38, "10150003FF"},
      {5.11, 38, 140, "FF02FFFFFF"}},
     {"began anew with Component", "before it was through"}},
    {"one packet in two contents",
     {REQUEST, GRANT_ALL, {5.02, 140, 38, "P1"}, {5.03, 140, 38, "P2"}, {5.04, 140, 38, "O2"},
      {5.05, 140, 38, "P3"}, {5.06, 38, 140, "13140003FF"}},
     {"went against the rules", "packet 2 came twice with different content"}},
    {"acknowledged with another size",
     {REQUEST, GRANT_ALL, {5.02, 140, 38, "P1"}, {5.03, 140, 38, "P2"}, {5.04, 140, 38, "P3"},
      {5.06, 38, 140, "13150003FF"}},
     {"went against the rules", "(38) acknowledged what it had not got (21 bytes)"}},
    {"a size that needs another number of packets",
     {{5.0, 140, 38, "10140009FF"}, {5.1, 38, 140, "FF02FFFFFF"}},
     {"20 bytes were announced in 9 packets, which does not fit"}},
    {"asked again and again",
     {REQUEST, {5.1, 140, 38, "10140003FF"}, {5.2, 140, 38, "10140003FF"},
      {5.3, 38, 140, "FF02FFFFFF"}},
     {"announced 3 times before anything came"}},
};

Test(diagnosis_transfer_ways, each_is_told_in_words)
{
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 40);
        play(s, rows[i].steps);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "transfer-failed", 140);
        cr_assert_not_null(f, "%s: %s", rows[i].what, outcome_codes(o));
        cr_expect_eq(f->severity, DBR_WARNING, "%s", rows[i].what);
        for (size_t k = 0; k < 3 && rows[i].words[k]; k++)
            cr_expect(says(f, rows[i].words[k]), "%s: %s", rows[i].what, evidence_of(f));
        outcome_free(o);
    }
}

/* What else the receiver said to the originator, which nobody asked for; and what is of others. */
Test(diagnosis_transfer_ways, stray_words_between_the_two)
{
    static const struct {
        const char *start;
        uint8_t from, to;
        const char *words;
    } strays[] = {
        {"110201FFFF", 38, 140, "sent it a grant for Component identification (65259) without a request"},
        {"13140003FF", 38, 140, "sent it an acknowledgement for"},
        {"FF01FFFFFF", 38, 140, "sent it an abort for"},
        {"110201FFFF", 39, 140, NULL},
        {"110201FFFF", 38, 141, NULL},
    };

    for (size_t i = 0; i < sizeof strays / sizeof strays[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 40);
        control(s, 3, strays[i].from, strays[i].to, strays[i].start);
        control(s, 5, 140, 38, "10140003FF");
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "transfer-failed", 140);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect(says(f, strays[i].words ? strays[i].words : "did not answer"), "%s",
                  evidence_of(f));
        cr_expect_eq(says(f, "without a request"), strays[i].words != NULL, "%zu", i);
        outcome_free(o);
    }
}

/* A sender that gave up because nobody answered names timeout (3) or too many repeats (5). */
Test(diagnosis_transfer_ways, who_gave_up_waiting_for_one_that_is_silent)
{
    static const struct {
        const char *start;
        bool because;
    } ends[] = {{"FF03FFFFFF", true}, {"FF05FFFFFF", true}, {"FF02FFFFFF", false}};

    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        story_beat(s, story_id(6, 65301, 255, 38), 0.1, 0, 30, "0000000000000000");
        control(s, 31, 140, 38, "10140003FF");
        control(s, 31.5, 140, 38, ends[i].start);
        struct outcome *o = story_tell(s);
        const struct dbr_finding *f = outcome_finding(o, "transfer-failed", 140);
        const struct dbr_finding *silent = outcome_finding(o, "ecu-silent", 38);
        cr_assert(f && silent, "%s", outcome_codes(o));
        cr_expect_eq(outcome_because(o, f, silent), ends[i].because, "%s", ends[i].start);
        outcome_free(o);
    }
}

/* While the machine is being switched off nobody is there to answer; before it, somebody was. */
Test(diagnosis_transfer_ways, nobody_answers_a_machine_that_is_switched_off)
{
    for (int before = 0; before < 2; before++) {
        struct story *s = story_new();
        story_background(s, 0, 60);
        /* the key, byte 8 bits 3-4 of 65096 (SPN 1865), off from 40 s on */
        story_beat(s, story_id(3, 65096, 255, 240), 0.1, 0, 40, "000000000000FFF5");
        story_beat(s, story_id(3, 65096, 255, 240), 0.1, 40, 45, "000000000000FFF1");
        control(s, before ? 20 : 41, 140, 38, "10140003FF");
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "transfer-failed", 140), before == 1, "%d: %s", before,
                     outcome_codes(o));
        outcome_free(o);
    }
}

static void refuse(struct story *s, double at, uint8_t from, uint8_t by, const char *reason)
{
    control(s, at, from, by, "10140003FF");
    control(s, at + 0.002, by, from, reason);
}

/* Three originators that one refuses for one reason are one matter; else each is its own. */
Test(diagnosis_transfer_ways, which_refusals_belong_together)
{
    static const struct {
        const char *what;
        uint8_t from, by;
        const char *reason;
        int bus;
        size_t findings;
    } thirds[] = {
        {"a third", 152, 38, "FF02FFFFFF", 0, 1},
        {"one of them once more", 151, 38, "FF02FFFFFF", 0, 2},
        {"by another", 152, 39, "FF02FFFFFF", 0, 3},
        {"for another reason", 152, 38, "FF01FFFFFF", 0, 3},
        {"on another bus", 152, 38, "FF02FFFFFF", 1, 3},
    };

    for (size_t i = 0; i < sizeof thirds / sizeof thirds[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 30);
        refuse(s, 5, 150, 38, "FF02FFFFFF");
        refuse(s, 6, 151, 38, "FF02FFFFFF");
        story_on(s, (uint8_t)thirds[i].bus);
        refuse(s, 7, thirds[i].from, thirds[i].by, thirds[i].reason);
        struct outcome *o = story_tell(s);
        cr_expect_eq(findings_of(o), thirds[i].findings, "%s: %s", thirds[i].what,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Originators that had been at work before, and have claimed, are not made up. */
Test(diagnosis_transfer_ways, refused_ones_that_are_known)
{
    for (int timed = 0; timed < 2; timed++) {
        struct story *s = story_new();
        story_background(s, 0, 30);
        for (uint8_t a = 150; a < 153; a++) {
            if (a > 150)
                story_claim(s, 0.1 + 0.1 * (a - 150), a, NAME_SPREADER + a);
            refuse(s, 5 + 0.1 * (a - 150), a, 38, "FF02FFFFFF");
            refuse(s, 6 + 0.1 * (a - 150), a, 38, "FF02FFFFFF");
        }
        story_on(s, 1);
        story_beat(s, story_id(6, 65301, 255, 150), 0.1, 0, 30, "0000000000000000");
        struct outcome *o = timed ? story_tell(s) : story_tell_untimed(s);
        const struct dbr_finding *f = outcome_finding(o, "transfer-failed", 38);
        cr_assert_not_null(f, "%s", outcome_codes(o));
        cr_expect(says(f, "refused 6 requests from 3 addresses"), "%s", evidence_of(f));
        cr_expect_eq(says(f, "1 of these addresses were never heard before that"), timed);
        cr_expect(says(f, "1 of them never claimed"), "%s", evidence_of(f));
        outcome_free(o);
    }
}

/* The same grant again and again is made up, unless its end was seen: of this message, between
 * these two. */
Test(diagnosis_transfer_ways, whose_end_excuses_grants_without_a_request)
{
    static const struct {
        const char *what;
        uint8_t from, to;
        uint32_t group; /* of the control message: TP or ETP */
        const char *hex;
        bool made_up;
    } ends[] = {
        {"its own", 38, 140, 60416, "13140003FFEBFE00", false},
        {"of another receiver", 39, 140, 60416, "13140003FFEBFE00", true},
        {"to another", 38, 141, 60416, "13140003FFEBFE00", true},
        {"of another message", 38, 140, 60416, "13140003FFECFE00", true},
        {"of a long message", 38, 140, 51200, "1714000000EBFE00", true},
        {"no end, but an abort", 38, 140, 60416, "FF01FFFFFFEBFE00", true},
    };

    for (size_t i = 0; i < sizeof ends / sizeof ends[0]; i++) {
        struct story *s = story_new();
        story_background(s, 0, 40);
        for (int k = 0; k < 10; k++)
            control(s, 5.0 + k, 38, 140, "110201FFFF");
        story_frame(s, 20, story_id(7, ends[i].group, ends[i].to, ends[i].from), ends[i].hex);
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "transfer-failed", 38), ends[i].made_up, "%s: %s",
                     ends[i].what, outcome_codes(o));
        outcome_free(o);
    }
}

/* A receiver may ask for the same packets again twice (SAE J1939-21 5.10.3.2, from memory): three
 * grants whose request the recording lacks are no sign of anything. */
Test(diagnosis_transfer_ways, grants_that_are_repeated_as_the_rules_allow)
{
    for (int count = 3; count <= 4; count++) {
        struct story *s = story_new();
        story_background(s, 0, 40);
        for (int k = 0; k < count; k++)
            control(s, 5.0 + k, 38, 140, "110201FFFF");
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "transfer-failed", 38), count == 4, "%d: %s", count,
                     outcome_codes(o));
        outcome_free(o);
    }
}

/* Long messages (ETP) have their own control messages. */
Test(diagnosis_transfer_ways, grants_of_a_long_message)
{
    for (int ended = 0; ended < 2; ended++) {
        struct story *s = story_new();
        uint32_t id = story_id(7, 51200, 140, 38);
        story_background(s, 0, 40);
        for (int k = 0; k < 10; k++)
            story_frame(s, 5.0 + k, id, "1502010000EBFE00");
        if (ended)
            story_frame(s, 20, id, "1714000000EBFE00");
        struct outcome *o = story_tell(s);
        cr_expect_eq(outcome_has(o, "transfer-failed", 38), ended == 0, "%s", outcome_codes(o));
        outcome_free(o);
    }
}
