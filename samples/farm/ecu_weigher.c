/*
 * ecu_weigher.c - the weighing unit under the bins.
 *
 * Proprietary B 65301, 200 ms, layout invented: bytes 1-4 mass in bin 1, bytes
 * 5-8 in bin 2, each 0.01 kg.
 */
#include "farm/ecus.h"
#include "farm/maths.h"
#include "farm/simulation.h"

/* Load cells: noise at rest, and more of it as the frame shakes. */
#define REST_NOISE_KG          0.15
#define SHAKE_NOISE_KG_PER_MPS 0.35

static bool compose_weights(struct farm_sim *sim, struct farm_ecu *ecu, uint8_t data[8])
{
    double noise_kg = REST_NOISE_KG + SHAKE_NOISE_KG_PER_MPS * sim->world.speed_mps;

    (void)ecu;
    for (unsigned i = 0; i < FARM_BINS; i++) {
        double kg = sim->metering.bin_kg[i] + noise_kg * farm_random_noise(&sim->weighing);
        farm_put32(data + 4 * i, (uint32_t)farm_round(farm_clamp(kg, 0.0, 20000.0) * 100.0));
    }
    return true;
}

static const struct farm_message messages[] = {
    {FARM_PGN_BIN_WEIGHTS, 6, FARM_GLOBAL, 200, 57, compose_weights},
};

const struct farm_ecu_design farm_weigher_design = {
    .name = {.industry_group = 2, .device_class = 5, .function = 134, .identity = 4072},
    .address = FARM_WEIGHER_ADDRESS,
    .boot_ms = 1080,
    .clock_ppm = 130,
    .jitter_us = 2000,
    .messages = messages,
    .message_count = sizeof messages / sizeof *messages,
    .told = {"1.9*", "GS-24-13*4072*frame*weighing unit**A*"},
};
