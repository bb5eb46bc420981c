/*
 * limits.h - every ceiling of the library, in one place, with its reason.
 *
 * Whatever the length of the recording, memory stays below the sum of these. To
 * reach a ceiling is an event that is counted and reported, never silence.
 */
#ifndef DRAWBAR_LIMITS_H
#define DRAWBAR_LIMITS_H

/* Reading */
#define DBR_INTERFACES_MAX 64u          /* a recorder has one to eight; frame.interface is a byte */
#define DBR_INTERFACE_NAME_MAX 64u      /* bytes; the kernel allows 15, captures name freely */
#define DBR_STREAM_WINDOW (256u * 1024u) /* bytes that a reader can look at in one piece */
#define DBR_LINE_MAX 4096u              /* bytes; the longest form, FD on the console, needs < 400 */
#define DBR_PROBE_BYTES (64u * 1024u)   /* what a reader may see before it decides; > 1000 lines */
#define DBR_CAPTURE_INTERFACES_MAX 256u /* interface descriptions in one pcapng section */
#define DBR_OPEN_FILES_MAX 64u          /* files of one recording that overlap in time */

/* Decoding */
#define DBR_DEFINITION_FILE_MAX (4u * 1024u * 1024u) /* bytes of one definitions file */
#define DBR_DEFINITIONS_MAX 8192u       /* messages in force; J1939 itself lists some 2000 */
#define DBR_SIGNALS_MAX 256u            /* signals in one message; the largest standard one has < 100 */
#define DBR_EXAMPLE_BYTES_MAX 1785u     /* J1939-21 transport message */

#endif
