/*
 * analysis.h - from files to findings in one call.
 *
 * Reads a recording once, tracks what happened, judges it. Whoever wants to see the frames on
 * their way, or to stop half-way, makes the same steps with reading.h, tracking.h and
 * diagnosis.h.
 *
 *     analysis = dbr_analysis_new(paths, count, NULL, &error);
 *     for (i = 0; i < analysis->diagnosis->finding_count; i++)
 *         puts(analysis->diagnosis->findings[i].title);
 *     dbr_analysis_free(analysis);
 */
#ifndef DRAWBAR_ANALYSIS_H
#define DRAWBAR_ANALYSIS_H

#include <stddef.h>
#include <stdint.h>

#include "drawbar/api.h"
#include "drawbar/definitions.h"
#include "drawbar/diagnosis.h"
#include "drawbar/error.h"
#include "drawbar/reading.h"
#include "drawbar/rig.h"
#include "drawbar/tracking.h"

DBR_API_BEGIN

#define DBR_BITRATE_DEFAULT 250000u /* bit/s, ISO 11783-2 and SAE J1939-11 */

/* All members may be zero. What they point to is needed during the call only, but for `loaded`. */
struct dbr_analysis_options {
    struct dbr_reading_options reading; /* interface and window; who is who is always taken from
                                           before the window, whatever `lead_in` says */
    struct dbr_tracking_options tracking; /* bitrate 0: DBR_BITRATE_DEFAULT */
    enum dbr_units units;    /* of the figures in texts */
    const char *definitions; /* folder of definitions to use beside the built-in ones; NULL: none */
    /* In place of these and of the built-in ones, where many recordings are analysed: loaded once by
     * the caller, who keeps them longer than the analysis. NULL: loaded by this call. */
    const struct dbr_definitions *loaded;
    const char *rig;         /* file that tells what the machine should have; NULL: none */
    /* Hears after each batch how many frames of the window were read, and the time, ns since the
     * first frame, of the last one. NULL: nobody. */
    void (*progress)(void *context, uint64_t frames, int64_t at_ns);
    void *progress_context;
};

/* Everything inside belongs to the analysis and lives as long as it does. */
struct dbr_analysis {
    const struct dbr_recording_info *info; /* what became of the files */
    const struct dbr_history *history;     /* what happened */
    const struct dbr_diagnosis *diagnosis; /* what is wrong */
    const struct dbr_definitions *definitions;
    const struct dbr_rig *rig; /* NULL: none */
    uint64_t frames;           /* of the interface and in the window; 0: there is nothing to judge */
    uint32_t bitrate;          /* bit/s, as load was computed */
    enum dbr_units units;
};

/*
 * `count` files (>= 1; "-" is standard input), any accepted form, as one recording. `options` may
 * be NULL. The caller owns what comes back. NULL on failure: as of dbr_recording_open and
 * dbr_recording_next; mistakes in rig or definitions; out of memory.
 */
struct dbr_analysis *dbr_analysis_new(const char *const *paths, size_t count,
                                      const struct dbr_analysis_options *options,
                                      struct dbr_error *error);

/* NULL is allowed. */
void dbr_analysis_free(struct dbr_analysis *analysis);

DBR_API_END

#endif
