/*
 * drawbar.h - the whole library in one header: recordings of CAN traffic between tractor and
 * implement, and what went wrong in them.
 *
 *     struct dbr_error error;
 *     struct dbr_analysis *a = dbr_analysis_new(paths, count, NULL, &error);
 *     if (!a)
 *         return complain(error.text);
 *     for (size_t i = 0; i < a->diagnosis->finding_count; i++)
 *         puts(a->diagnosis->findings[i].title);
 *     dbr_analysis_free(a);
 *
 * Where to look:
 *
 *     analysis.h     files to findings in one call; the struct of a finding is in diagnosis.h
 *     reporting.h    the same as text, JSON or a page; compare.h and inbox.h for several
 *     reading.h      frames out of recordings; writing.h and excerpt.h back into one
 *     decoder.h      messages out of frames; printing.h as lines, definitions.h their meaning
 *     tracking.h     what happened: ECUs, addresses, speeds, buses, implements
 *     verify.h       proves files of definitions; rig.h what a machine should have
 *     limits.h       every ceiling of memory, with its reason
 *
 * Ownership: what a function named _new, _open or _load gives belongs to the caller, who hands
 * it to the _free or _close of the same name. All else that a pointer leads to belongs to the
 * object that it came from and lives as long. Strings and arrays handed in are copied unless
 * the function says that it borrows them.
 *
 * Errors: a function that can fail returns -1 or NULL and fills a struct dbr_error (error.h),
 * which may be NULL. The library never prints, never exits and reads no environment.
 *
 * Units: times are ns since the first frame (..._ns) or seconds (..._s), speeds m/s, voltages V,
 * rates SI; the name of a member ends in its unit. What is unknown has a status, or is NAN or
 * -1 where the header says so: it is never zero.
 *
 * Threads: the library has no state of its own. Two threads may use it at once, each with
 * objects of its own. One object belongs to one thread at a time; what is finished (a history,
 * a diagnosis, loaded definitions) may be read by any number of them. It starts a thread of its own
 * only where dbr_reading_options ask for one.
 *
 * Versions: the ABI is the one that the soname names; DEVELOPERS.md says what changes it.
 */
#ifndef DRAWBAR_DRAWBAR_H
#define DRAWBAR_DRAWBAR_H

#include "drawbar/analysis.h"
#include "drawbar/can_id.h"
#include "drawbar/chain.h"
#include "drawbar/closeup.h"
#include "drawbar/compare.h"
#include "drawbar/ddi.h"
#include "drawbar/decoder.h"
#include "drawbar/definitions.h"
#include "drawbar/device.h"
#include "drawbar/device_story.h"
#include "drawbar/diagnosis.h"
#include "drawbar/digest.h"
#include "drawbar/error.h"
#include "drawbar/error_frame.h"
#include "drawbar/excerpt.h"
#include "drawbar/frame.h"
#include "drawbar/identity.h"
#include "drawbar/inbox.h"
#include "drawbar/limits.h"
#include "drawbar/name.h"
#include "drawbar/printing.h"
#include "drawbar/process_data.h"
#include "drawbar/reading.h"
#include "drawbar/reporting.h"
#include "drawbar/rig.h"
#include "drawbar/series.h"
#include "drawbar/spells.h"
#include "drawbar/tracking.h"
#include "drawbar/transfers.h"
#include "drawbar/transport.h"
#include "drawbar/trouble_code.h"
#include "drawbar/troubles.h"
#include "drawbar/verify.h"
#include "drawbar/writing.h"

#endif
