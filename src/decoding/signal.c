/*
 * signal.c - a signal out of a message's bytes: its bits, its status, its value.
 */
#include "drawbar/definitions.h"

const char *dbr_role_name(enum dbr_role role)
{
    static const char *const names[] = {
#define NAME(code, words) words,
        DBR_ROLES(NAME)
#undef NAME
    };
    return (unsigned)role < DBR_ROLE_COUNT ? names[role] : "";
}

static uint64_t all_ones(unsigned bits)
{
    return bits == 64 ? UINT64_MAX : (UINT64_C(1) << bits) - 1;
}

/* Least significant byte first, bits counted from the least significant (SAE J1939-71 5.1.3,
 * ISO 11783-7). The caller has seen to it that the bytes exist. */
static uint64_t take_bits(const uint8_t *data, unsigned first_bit, unsigned bits)
{
    const uint8_t *byte = data + first_bit / 8;
    unsigned taken = 8 - first_bit % 8;
    uint64_t value = (uint64_t)*byte++ >> first_bit % 8;

    for (; taken < bits; taken += 8)
        value |= (uint64_t)*byte++ << taken;
    return value & all_ones(bits);
}

/* Wide values are judged by their most significant byte (J1939-71 5.1.4, ISO 11783-7):
 * to FA valid, FB parameter-specific, FC and FD reserved, FE error, FF not available. */
static enum dbr_value_status judge_top_byte(uint64_t raw, unsigned bits)
{
    uint64_t top = raw >> (bits - 8);

    if (top <= 0xFA)
        return DBR_VALUE_VALID;
    if (top == 0xFF)
        return DBR_VALUE_NOT_AVAILABLE;
    return top == 0xFE ? DBR_VALUE_ERROR : DBR_VALUE_OUT_OF_RANGE;
}

static bool has_error_code(unsigned bits)
{
    return bits == 2 || bits == 4 || bits == 6; /* 6 bits: exit codes of ISO 11783-7, 62 */
}

static enum dbr_value_status judge_j1939(uint64_t raw, unsigned bits)
{
    if (bits == 8 || bits == 16 || bits == 24 || bits == 32 || bits == 64)
        return judge_top_byte(raw, bits);
    if (bits == 1)
        return DBR_VALUE_VALID; /* no room for a special value */
    if (raw == all_ones(bits))
        return DBR_VALUE_NOT_AVAILABLE;
    return has_error_code(bits) && raw == all_ones(bits) - 1 ? DBR_VALUE_ERROR : DBR_VALUE_VALID;
}

/* NMEA 2000: the largest value is "not available", the one below "error". */
static enum dbr_value_status judge_nmea2000(uint64_t raw, unsigned bits, bool is_signed)
{
    uint64_t largest = is_signed ? all_ones(bits) >> 1 : all_ones(bits);

    if (bits < 2)
        return DBR_VALUE_VALID;
    if (raw == largest)
        return DBR_VALUE_NOT_AVAILABLE;
    return bits > 3 && raw == largest - 1 ? DBR_VALUE_ERROR : DBR_VALUE_VALID;
}

static enum dbr_value_status judge(const struct dbr_signal *signal, uint64_t raw)
{
    switch (signal->special) {
    case DBR_SPECIAL_J1939:
        return judge_j1939(raw, signal->bits);
    case DBR_SPECIAL_NMEA2000:
        return judge_nmea2000(raw, signal->bits, signal->is_signed);
    case DBR_SPECIAL_NONE:
        break;
    }
    return DBR_VALUE_VALID;
}

static double to_number(const struct dbr_signal *signal, uint64_t raw)
{
    uint64_t sign = UINT64_C(1) << (signal->bits - 1);

    if (!signal->is_signed || !(raw & sign))
        return (double)raw * signal->scale + signal->offset;
    uint64_t magnitude = (~raw & all_ones(signal->bits)) + 1;
    return -(double)magnitude * signal->scale + signal->offset;
}

/* The greatest raw value that is a measurement: the end of the special values is near the top. */
static uint64_t highest_valid(const struct dbr_signal *signal)
{
    uint64_t top = signal->is_signed ? all_ones(signal->bits) >> 1 : all_ones(signal->bits);
    uint64_t below_fb = signal->bits >= 8 ? (UINT64_C(0xFB) << (signal->bits - 8)) - 1 : 0;
    const uint64_t candidates[] = {top, top - 1, top - 2, below_fb};

    for (size_t i = 0; i < sizeof candidates / sizeof candidates[0]; i++)
        if (judge(signal, candidates[i]) == DBR_VALUE_VALID)
            return candidates[i];
    return 0;
}

void dbr_signal_limits(const struct dbr_signal *signal, double *low, double *high)
{
    uint64_t least = signal->is_signed ? UINT64_C(1) << (signal->bits - 1) : 0;
    double a = to_number(signal, least), b = to_number(signal, highest_valid(signal));

    *low = a < b ? a : b;
    *high = a < b ? b : a;
}

struct dbr_value dbr_signal_decode(const struct dbr_signal *signal, const uint8_t *data,
                                   size_t length)
{
    struct dbr_value value = {.status = DBR_VALUE_ABSENT};

    if ((size_t)signal->first_bit + signal->bits > 8 * length)
        return value;
    value.raw = take_bits(data, signal->first_bit, signal->bits);
    value.status = judge(signal, value.raw);
    if (value.status != DBR_VALUE_VALID)
        return value;
    value.number = to_number(signal, value.raw);
    if (signal->has_range && (value.number < signal->low || value.number > signal->high)) {
        value.status = DBR_VALUE_OUT_OF_RANGE;
        value.number = 0;
    }
    return value;
}

const char *dbr_signal_state(const struct dbr_signal *signal, uint64_t raw)
{
    for (size_t i = 0; i < signal->state_count; i++)
        if (signal->states[i].raw == raw)
            return signal->states[i].text;
    return NULL;
}

const char *dbr_value_status_name(enum dbr_value_status status)
{
    static const char *const names[] = {
        [DBR_VALUE_VALID] = "valid",
        [DBR_VALUE_NOT_AVAILABLE] = "not_available",
        [DBR_VALUE_ERROR] = "error",
        [DBR_VALUE_OUT_OF_RANGE] = "out_of_range",
        [DBR_VALUE_ABSENT] = "absent",
    };
    return (size_t)status < sizeof names / sizeof names[0] ? names[status] : "unknown";
}
