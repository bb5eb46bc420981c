/*
 * devices.h - the descriptions that implements send to a task controller (ISO 11783-10 annex B).
 *
 * Collected by implement, which is known by its NAME wherever it moves, else by its address.
 * The bytes of several transfers make one description; it is read when it is activated, and
 * at the end. A transfer that begins with the device object begins a new description.
 */
#ifndef DRAWBAR_TRACKING_DEVICES_H
#define DRAWBAR_TRACKING_DEVICES_H

#include "tracking/ecus.h"
#include "tracking/sighting.h"

struct client {
    struct dbr_device_story seen;
    bool speaks;           /* of its description; else only of its version */
    bool announced;        /* it asked to transfer one */
    bool unread;           /* bytes came since it was read */
    struct dbr_device *device; /* = seen.description, which is const */
    uint8_t *bytes;
    size_t length, capacity;
    size_t part_count, part_starts[DBR_POOL_PARTS_MAX];
    uint16_t renamed_id;   /* a designator that waits for the controller's word; DBR_OBJECT_NONE */
    size_t renamed_length;
    uint8_t renamed[UINT8_MAX];
};

struct devices {
    size_t count;
    struct client items[DBR_DEVICES_MAX];
    uint64_t beyond;
    bool out_of_memory;
};

void devices_message(struct devices *d, const struct ecus *ecus, const struct sighting *s,
                     bool by_controller);
void devices_transfer(struct devices *d, const struct ecus *ecus,
                      const struct dbr_transfer *transfer, bool by_controller);
/* The recording ends. False: out of memory. */
bool devices_finish(struct devices *d, const struct ecus *ecus);
void devices_release(struct devices *d);

/* What is known of the ECU at an address; NULL: nothing, or not its description. */
const struct dbr_device *devices_description(const struct devices *d, const struct ecus *ecus,
                                             uint8_t interface, uint8_t address);

/* Those that spoke of a description, side by side in new memory; NULL: out of memory. */
struct dbr_device_story *devices_gather(const struct devices *d, size_t *count);

#endif
