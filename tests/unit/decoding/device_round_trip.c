/* A random description, written by the tests' own builder, reads back to what went in. */
#include <criterion/criterion.h>
#include <string.h>

#include "drawbar/device.h"
#include "support/pool.h"

#define OBJECTS_MAX 60
#define REFERENCES_MAX 6

struct made {
    enum dbr_object_kind kind;
    uint16_t id, number, parent, ddi, presentation, references[REFERENCES_MAX];
    size_t reference_count;
    uint8_t type, properties, triggers, decimals;
    int32_t value, add;
    float scale;
    char text[33];
};

static uint64_t random_state;

static uint32_t draw(uint32_t below)
{
    /* Knuth's MMIX multiplier; the high half is the better one. */
    random_state = random_state * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(random_state >> 33) % below;
}

static void draw_text(char out[33])
{
    static const char *const letters[] = {"a", "Z", " ", "7", "ä", "€", "D", "\xF0\x9F\x8C\xBE"};
    size_t want = draw(33);

    out[0] = '\0';
    for (;;) {
        const char *letter = letters[draw(8)];
        if (strlen(out) + strlen(letter) > want)
            return;
        strncat(out, letter, 32 - strlen(out));
    }
}

/* Ids are 1..count in a random order, all parents before their children in the order of making. */
static void make(struct made *m, size_t index, const uint16_t *ids)
{
    *m = (struct made){.id = ids[index], .presentation = 0xFFFF};
    m->kind = (enum dbr_object_kind)(DBR_OBJECT_ELEMENT + draw(4));
    draw_text(m->text);
    m->type = (uint8_t)(1 + draw(7));
    m->number = (uint16_t)index;
    m->ddi = (uint16_t)draw(65536);
    m->value = (int32_t)draw(2147483648u) - 1073741824;
    m->properties = (uint8_t)draw(8);
    m->triggers = (uint8_t)draw(32);
    m->add = (int32_t)draw(2000) - 1000;
    m->scale = (float)draw(1000) / 8;
    m->decimals = (uint8_t)draw(8);
}

static void connect(struct made *items, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct made *m = &items[i], *other = &items[draw((uint32_t)count)];
        if (m->kind != DBR_OBJECT_ELEMENT && other->kind == DBR_OBJECT_PRESENTATION)
            m->presentation = other->id;
        if (m->kind != DBR_OBJECT_ELEMENT)
            continue;
        struct made *parent = i > 0 ? &items[draw((uint32_t)i)] : NULL;
        m->parent = parent && parent->kind == DBR_OBJECT_ELEMENT ? parent->id : 0;
        for (size_t k = draw(REFERENCES_MAX + 1); k > 0; k--) {
            other = &items[draw((uint32_t)count)];
            if (other->kind == DBR_OBJECT_PROCESS_DATA || other->kind == DBR_OBJECT_PROPERTY)
                m->references[m->reference_count++] = other->id;
        }
    }
}

static void write(struct bytes *b, const struct made *m)
{
    switch ((int)m->kind) {
    case DBR_OBJECT_ELEMENT:
        pool_element(b, m->id, m->type, m->text, m->number, m->parent, m->references,
                     m->reference_count);
        break;
    case DBR_OBJECT_PROCESS_DATA:
        pool_data(b, m->id, m->ddi, m->properties, m->triggers, m->text, m->presentation);
        break;
    case DBR_OBJECT_PROPERTY:
        pool_property(b, m->id, m->ddi, m->value, m->text, m->presentation);
        break;
    default:
        pool_presentation(b, m->id, m->add, m->scale, m->decimals, m->text);
    }
}

static void expect_same(const struct dbr_device_object *o, const struct made *m)
{
    cr_assert_not_null(o, "object %u", m->id);
    cr_assert_eq(o->kind, m->kind);
    cr_expect_str_eq(o->text, m->text);
    switch ((int)m->kind) {
    case DBR_OBJECT_ELEMENT:
        cr_expect(o->type == m->type && o->number == m->number && o->parent == m->parent);
        cr_expect_not(o->loose);
        cr_assert_eq(o->reference_count, m->reference_count);
        for (size_t i = 0; i < m->reference_count; i++)
            cr_expect_eq(o->references[i], m->references[i]);
        break;
    case DBR_OBJECT_PROCESS_DATA:
        cr_expect(o->ddi == m->ddi && o->properties == m->properties &&
                  o->triggers == m->triggers && o->presentation == m->presentation);
        break;
    case DBR_OBJECT_PROPERTY:
        cr_expect(o->ddi == m->ddi && o->value == m->value && o->presentation == m->presentation);
        break;
    default:
        cr_expect(o->add == m->add && o->scale == m->scale && o->decimals == m->decimals);
    }
}

static void shuffle(uint16_t *ids, size_t count)
{
    for (size_t i = 0; i < count; i++)
        ids[i] = (uint16_t)(i + 1);
    for (size_t i = count; i > 1; i--) {
        size_t k = draw((uint32_t)i);
        uint16_t other = ids[i - 1];
        ids[i - 1] = ids[k];
        ids[k] = other;
    }
}

Test(decoding_device_round_trip, what_goes_in_comes_out)
{
    for (unsigned run = 0; run < 500; run++) {
        struct made items[OBJECTS_MAX];
        struct bytes b = {0};
        uint16_t ids[OBJECTS_MAX];
        random_state = run + 1;
        size_t count = draw(OBJECTS_MAX + 1), device_at = draw((uint32_t)count + 1);

        shuffle(ids, count);
        for (size_t i = 0; i < count; i++)
            make(&items[i], i, ids);
        connect(items, count);
        for (size_t i = 0; i <= count; i++) {
            if (i == device_at)
                pool_device(&b, &(struct pool_device){"Device", "1", "2", run, "LABEL-1",
                                                      "en12345", run % 2 ? "extended" : NULL});
            if (i < count)
                write(&b, &items[i]);
        }
        struct dbr_device *d = dbr_device_parse(
            b.data, b.length, &(struct dbr_pool_layout){.version = DBR_VERSION_UNKNOWN});
        cr_assert_not_null(d);
        cr_assert(d->complete, "run %u", run);
        cr_assert_eq(d->problem_count, 0, "run %u: problem %d", run, (int)d->problems[0].kind);
        cr_assert_eq(d->object_count, count + 1);
        cr_assert_eq(d->version_4, run % 2);
        for (size_t i = 0; i < count; i++)
            expect_same(dbr_device_object(d, items[i].id), &items[i]);
        dbr_device_free(d);
        bytes_free(&b);
    }
}
