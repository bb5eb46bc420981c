/* wording.h - figures, times and names as people read them. */
#ifndef DRAWBAR_DIAGNOSIS_WORDING_H
#define DRAWBAR_DIAGNOSIS_WORDING_H

#include "diagnosis/findings.h"

/* "12.3 s"; seconds from the start of the recording. */
const char *word_time(struct findings *f, int64_t ns);

/* "from 12.3 s to 95.0 s", "from 12.3 s to the end". */
const char *word_span(struct findings *f, const struct dbr_spell *spell);

/* "10.1 km/h" or "6.3 mph"; "unknown" for NAN. */
const char *word_speed(struct findings *f, double mps);

/* "120.4 m" or "395 ft". */
const char *word_distance(struct findings *f, double metres);

/* What to call the ECU at an address. */
const char *word_ecu(struct findings *f, uint8_t interface, uint8_t address);

/* "element 3 "Left belt"", of the implement at an address. */
const char *word_element(struct findings *f, uint8_t interface, uint8_t address, uint16_t number);

/* "implement speed of rate control (128)". */
const char *word_source(struct findings *f, const struct dbr_speed_source *source);

/* The sources in a mask, "ground speed of ..., gnss speed of ...". */
const char *word_sources(struct findings *f, uint64_t mask);

/* A NAME as 16 hexadecimal digits. */
const char *word_name(struct findings *f, uint64_t name);

/* " on can1" where the recording has several interfaces, else "". */
const char *word_where(struct findings *f, int interface);

#endif
