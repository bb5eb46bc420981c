/* causes_codes.c - see causes_codes.h. */
#include "diagnosis/causes_codes.h"

#include <string.h>

#include "diagnosis/advice_codes.h"

/* Failure modes of a message that is received (SAE J1939-73 appendix A). */
#define FMI_UPDATE_RATE 9u
#define FMI_RECEIVED_ERROR 19u

/* Of a finding about a trouble code. NULL: its layout is an older one, and its SPN not certain. */
static const struct dbr_trouble_code *certain_code(const struct found *found)
{
    const struct dbr_trouble *t = found->seen.trouble;
    return t->code.older_layout ? NULL : &t->code;
}

bool code_misses(const struct found *code, const struct found *about)
{
    const struct dbr_trouble_code *c = certain_code(code);

    if (!c || !dbr_spn_is_address(c->spn))
        return false;
    int address = (int)(c->spn - DBR_SPN_ADDRESS_FIRST);
    for (size_t i = 0; i < about->seen.address_count; i++)
        if (about->seen.addresses[i] == address)
            return true;
    return about->seen.address == address;
}

bool code_says_supply_low(const struct found *code)
{
    const struct dbr_trouble_code *c = certain_code(code);

    return c && spn_is_supply(c->spn) &&
           (c->fmi == 1 || c->fmi == 4 || c->fmi == 17 || c->fmi == 18);
}

/* Which speeds of its sender a parameter stands behind (SAE J1939-71, ISO 11783-7; that vehicle
 * and wheel-based speed come from one shaft: common practice, no source). */
static bool is_behind_speed(uint32_t spn, int kind)
{
    static const struct {
        uint32_t first, last;
        enum dbr_speed_kind kind;
    } rows[] = {
        {84, 84, DBR_SPEED_VEHICLE},       {84, 84, DBR_SPEED_WHEEL},
        {191, 191, DBR_SPEED_VEHICLE},     {191, 191, DBR_SPEED_WHEEL},
        {904, 910, DBR_SPEED_VEHICLE},     {904, 910, DBR_SPEED_WHEEL},
        {1859, 1861, DBR_SPEED_GROUND},    {1862, 1864, DBR_SPEED_WHEEL},
        {517, 517, DBR_SPEED_NAVIGATION},  {4305, 4306, DBR_SPEED_SELECTED},
        {4309, 4309, DBR_SPEED_SELECTED},
    };

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        if ((int)rows[i].kind == kind && spn >= rows[i].first && spn <= rows[i].last)
            return true;
    return false;
}

/* A speed that its machine lacks; one that is merely off or from elsewhere is another matter. */
static bool lacks_speed(const struct found *found)
{
    static const char *const codes[] = {"speed-lost",       "speed-error",  "speed-stuck-zero",
                                        "speed-not-available", "speed-frozen", "speed-erratic"};

    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++)
        if (strcmp(found->seen.code, codes[i]) == 0)
            return true;
    return false;
}

bool code_tells_why(const struct found *code, const struct found *speed)
{
    const struct dbr_trouble_code *c = certain_code(code);

    return c && lacks_speed(speed) && fmi_is_electrical(c->fmi) &&
           code->seen.address == speed->seen.address && is_behind_speed(c->spn, speed->kind);
}

bool code_may_tell_why(const struct found *code, const struct found *speed)
{
    const struct dbr_trouble_code *c = certain_code(code);

    return c && lacks_speed(speed) && fmi_is_electrical(c->fmi) && dbr_spn_is_maker(c->spn) &&
           code->seen.address == speed->seen.address;
}

bool code_repeats(const struct found *code, const struct found *speed)
{
    const struct dbr_trouble_code *c = certain_code(code);

    if (!c || !lacks_speed(speed) || fmi_is_electrical(c->fmi) ||
        !is_behind_speed(c->spn, speed->kind))
        return false;
    return code->seen.address == speed->seen.address || c->fmi == FMI_UPDATE_RATE ||
           c->fmi == FMI_RECEIVED_ERROR;
}

bool order_is_for(const struct found *order, const struct found *silent)
{
    if (order->seen.address == silent->seen.address)
        return false;
    return order->seen.address_count == 0 || order->seen.addresses[0] == silent->seen.address;
}
