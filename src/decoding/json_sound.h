/* json_sound.h - whether a text is JSON, told without memory. */
#ifndef DRAWBAR_DECODING_JSON_SOUND_H
#define DRAWBAR_DECODING_JSON_SOUND_H

#include <stddef.h>

enum json_soundness {
    JSON_SOUND,
    JSON_UNSOUND,
    JSON_TOO_DEEP, /* deeper than the parser goes */
};

/*
 * Whether the parser has no reason in the text to refuse it: as lenient as the parser is, which
 * does not look behind the first value, and takes any character in a string.
 */
enum json_soundness json_soundness(const char *text, size_t length);

#endif
