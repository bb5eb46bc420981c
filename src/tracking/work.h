/*
 * work.h - whether an implement is lowered or working, as far as messages say.
 */
#ifndef DRAWBAR_TRACKING_WORK_H
#define DRAWBAR_TRACKING_WORK_H

#include "drawbar/limits.h"
#include "tracking/sighting.h"

struct work {
    enum dbr_answer lowered[DBR_INTERFACES_MAX];          /* a hitch is in work */
    int64_t lowered_ns[DBR_INTERFACES_MAX];
    enum dbr_answer drive[DBR_INTERFACES_MAX];        /* a PTO is engaged */
    int64_t drive_ns[DBR_INTERFACES_MAX];
    uint8_t working[DBR_INTERFACES_MAX][256];         /* enum dbr_answer, by implement */
    bool idle[DBR_INTERFACES_MAX][256];               /* known not to work, as its chain tells */
};

/* The bus goes on after a gap: work states are told on change, and are unknown until the next. */
void work_resume(struct work *w, uint8_t interface);

void work_value(struct work *w, const struct sighting *s, const struct role_value *v);

/*
 * Lowered or working: yes where one of them is known to hold, no where both are
 * known not to, unknown else.
 */
enum dbr_answer work_lowered_or_working(const struct work *w, uint8_t interface, uint8_t address,
                                    int64_t now);

/* The same, and no where an implement that no hitch tells of is known to be put out of work. */
enum dbr_answer work_wheel_down(const struct work *w, uint8_t interface, uint8_t address,
                                int64_t now);

/* A hitch in work; a PTO engaged: as told within the last two seconds. */
enum dbr_answer work_lowered(const struct work *w, uint8_t interface, int64_t now);
enum dbr_answer work_drive(const struct work *w, uint8_t interface, int64_t now);

#endif
