/*
 * trouble_words.c - trouble codes in words of our own.
 *
 * Source: SAE J1939-73 appendix A (failure modes), SAE J1939 digital annex and ISO 11783-7
 * (suspect parameter numbers); that 910 is the last wheel is from memory.
 */
#include "drawbar/trouble_code.h"

bool dbr_spn_is_address(uint32_t spn)
{
    return spn >= DBR_SPN_ADDRESS_FIRST && spn <= DBR_SPN_ADDRESS_LAST;
}

bool dbr_spn_is_maker(uint32_t spn)
{
    return spn >= DBR_SPN_MAKER_FIRST;
}

const char *dbr_fmi_words(uint8_t fmi)
{
    static const char *const words[] = {
        "far above normal",
        "far below normal",
        "erratic, intermittent or incorrect",
        "voltage high or short to supply",
        "voltage low or short to ground",
        "current low or open circuit",
        "current high or short to ground",
        "mechanical part does not respond",
        "abnormal frequency, pulse width or period",
        "abnormal update rate: messages missing",
        "abnormal rate of change",
        "cause not known",
        "faulty unit or component",
        "out of calibration",
        "special instructions of the maker",
        "slightly above normal",
        "above normal",
        "slightly below normal",
        "below normal",
        "received data in error",
        "drifted high",
        "drifted low",
        [31] = "condition exists",
    };
    const char *found = fmi < sizeof words / sizeof words[0] ? words[fmi] : NULL;
    return found ? found : "reserved failure mode";
}

/* Those that no message carries as a signal; what the definitions name is not repeated here. */
static const struct {
    uint32_t spn;
    const char *words;
} parameters[] = {
    {161, "transmission input shaft speed"},
    {191, "transmission output shaft speed"},
    {234, "software identification"},
    {620, "5 V sensor supply"},
    {625, "proprietary data link"},
    {627, "power supply"},
    {628, "program memory"},
    {629, "controller"},
    {630, "calibration memory"},
    {639, "J1939 network 1"},
    {904, "front axle speed"},
    {905, "relative speed of a wheel"},
    {906, "relative speed of a wheel"},
    {907, "relative speed of a wheel"},
    {908, "relative speed of a wheel"},
    {909, "relative speed of a wheel"},
    {910, "relative speed of a wheel"},
    {917, "high resolution total distance"},
    {918, "high resolution trip distance"},
    {1079, "sensor supply 1"},
    {1080, "sensor supply 2"},
    {1231, "J1939 network 2"},
    {1235, "J1939 network 3"},
    {1482, "controlling device of the transmission"},
    {1485, "main relay of the ECU"},
    {1668, "J1939 network 4"},
    {1669, "J1939 network 5"},
    {1670, "J1939 network 6"},
    {1671, "J1939 network 7"},
    {1672, "J1939 network 8"},
    {1673, "J1939 network 9"},
    {1674, "J1939 network 10"},
    /* published lists number these differently: no number here */
    {3509, "sensor supply"},
    {3510, "sensor supply"},
    {3511, "sensor supply"},
    {3512, "sensor supply"},
    {3513, "sensor supply"},
    {3514, "sensor supply"},
    {5139, "implement operating state"},
    {5140, "implement stop"},
};

static const char *signal_with(const struct dbr_definitions *definitions, uint32_t spn)
{
    size_t count = definitions ? dbr_definitions_count(definitions) : 0;

    for (size_t i = 0; i < count; i++) {
        const struct dbr_message *message = dbr_definitions_at(definitions, i);
        for (size_t k = 0; k < message->signal_count; k++)
            if (message->signals[k].spn == spn)
                return message->signals[k].name;
    }
    return NULL;
}

const char *dbr_spn_words(const struct dbr_definitions *definitions, uint32_t spn)
{
    if (spn == 0 || dbr_spn_is_maker(spn) || dbr_spn_is_address(spn))
        return NULL;
    const char *name = signal_with(definitions, spn);
    for (size_t i = 0; !name && i < sizeof parameters / sizeof parameters[0]; i++)
        if (parameters[i].spn == spn)
            name = parameters[i].words;
    return name;
}

const char *dbr_lamp_name(enum dbr_lamp lamp)
{
    static const char *const names[] = {"protect", "amber_warning", "red_stop", "malfunction"};
    _Static_assert(sizeof names / sizeof names[0] == DBR_LAMPS, "a name for each lamp");
    return (unsigned)lamp < DBR_LAMPS ? names[lamp] : "unknown";
}

const char *dbr_lamp_state_name(enum dbr_lamp_state state)
{
    static const char *const names[] = {"off", "on", "error", "not_available"};
    return (unsigned)state <= DBR_LAMP_NOT_AVAILABLE ? names[state] : "unknown";
}

const char *dbr_lamp_flash_name(enum dbr_lamp_flash flash)
{
    static const char *const names[] = {"slow", "fast", "reserved", "none"};
    return (unsigned)flash <= DBR_FLASH_NONE ? names[flash] : "unknown";
}
