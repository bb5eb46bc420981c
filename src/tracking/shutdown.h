/*
 * shutdown.h - the moment at which the machine was switched off, which ends messages as it should.
 */
#ifndef DRAWBAR_TRACKING_SHUTDOWN_H
#define DRAWBAR_TRACKING_SHUTDOWN_H

#include "tracking/ecus.h"

/*
 * When a bus was switched off for good: the key switch said so, or nearly all of
 * its ECUs, tractor's among them, ended within seconds and never came back; or most
 * did, of a machine that was `standing`, the engine's first and by itself, and those
 * that go on are neither tractor nor implement. -1 where it was not, or cannot be
 * told from a fault.
 */
int64_t shutdown_moment(const struct ecus *ecus, const struct bus *bus, uint8_t interface,
                        bool standing);

#endif
