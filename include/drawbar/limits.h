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
#define DBR_AHEAD_BATCHES 8u             /* read before they are wanted; 41 KiB each */
#define DBR_PROBE_BYTES (64u * 1024u)   /* what a reader may see before it decides; > 1000 lines */
#define DBR_CAPTURE_INTERFACES_MAX 256u /* interface descriptions in one pcapng section */
#define DBR_OPEN_FILES_MAX 64u          /* files of one recording that overlap in time */

/* Decoding */
#define DBR_DEFINITION_FILE_MAX (4u * 1024u * 1024u) /* bytes of one definitions file */
#define DBR_DEFINITIONS_MAX 8192u       /* messages in force; J1939 itself lists some 2000 */
#define DBR_SIGNALS_MAX 256u            /* signals in one message; the largest standard one has < 100 */
#define DBR_STATES_MAX 1024u            /* texts of one signal; standard lists have < 100 */
#define DBR_MISTAKES_TOLD_MAX 200u      /* in one file, when verifying; further ones are counted */
#define DBR_EXAMPLE_BYTES_MAX 1785u     /* J1939-21 transport message */
#define DBR_TRANSFERS_MAX 1024u         /* open at once; a broadcast and some connections per ECU */
#define DBR_TRANSFER_BYTES_MAX (16u * 1024u * 1024u) /* of all open transfers together; object pools
                                have up to a few MiB, the protocol allows 117 MB (ISO 11783-3) */
#define DBR_POOL_OBJECTS_MAX 4096u      /* objects of one device description; a wide one has < 1000 */
#define DBR_POOL_REFERENCES_MAX 16384u  /* from its elements to their data; a wide one has < 4000 */
#define DBR_POOL_PROBLEMS_MAX 32u       /* mistakes in one description that are kept */
#define DBR_TOLD_TEXT_MAX 256u          /* bytes of a text by an ECU; a field has up to 200
                                           characters (SAE J1939-71, from memory) */
#define DBR_TOLD_FIELDS_MAX 16u         /* texts of one group; ECU identification has 6 */
#define DBR_FUNCTIONALITIES_MAX 32u     /* that one ECU tells; some 20 are defined */

/* Cutting */
#define DBR_WINDOWS_MAX 1024u     /* pieces of time around findings */
#define DBR_EXCERPT_TRANSFERS_MAX (1024u * 1024u) /* 40 bytes each; a busy day has 100 000 */
#define DBR_EXCERPT_VALUES_MAX 8192u /* that hold until the next; a wide implement has some 500 */

/* Tracking. What exceeds a ceiling is counted in struct dbr_history. */
#define DBR_ECUS_MAX 1024u        /* addresses over all interfaces; a full bus has 254 */
#define DBR_STREAMS_MAX 8192u     /* groups by sender; a busy tractor bus has some 300 */
#define DBR_SPEED_SOURCES_MAX 32u /* 7 kinds; a rig of tractor and implement has 4 to 8 */
#define DBR_SUPPLIES_MAX 32u      /* ECUs that report a battery voltage */
#define DBR_SPELLS_MAX 32u        /* intervals kept of one condition at one place */
#define DBR_CLAIM_EVENTS_MAX 512u /* restarts, conflicts, moves, cannot-claims, each */
#define DBR_CLAIM_TIMES_MAX 16u   /* claims of one ECU whose times are kept; 1 to 8 are usual */
#define DBR_NAMES_MAX 4u          /* NAMEs remembered of one address */
#define DBR_CHANGES_MAX 32u       /* changes of the selected speed source that are kept */
#define DBR_ELEMENTS_MAX 8u       /* device elements of one ECU that report a speed */
#define DBR_IMPLEMENTS_MAX 16u    /* working set masters; a rig has one to three */
#define DBR_IMPLEMENT_ELEMENTS_MAX 32u /* elements of one implement with a rate or meter */
#define DBR_EARLY_SETPOINTS_MAX 64u    /* set-points that wait for who is the controller */
#define DBR_IMPLEMENT_STATES_MAX 64u   /* elements of one implement that tell one state */
#define DBR_METERS_MAX 16u        /* metering elements whose averages are kept */
#define DBR_DEVICES_MAX 16u       /* implements whose descriptions are kept */
#define DBR_POOL_BYTES_MAX (256u * 1024u) /* of one description; a wide implement's has < 100 KiB */
#define DBR_POOL_PARTS_MAX 64u    /* transfers that make up one description; usually 1 */
#define DBR_DEVICE_REFUSALS_MAX 8u /* of one implement, that are kept */
#define DBR_WORKING_SETS_MAX 32u  /* masters; display and implements have one each */
#define DBR_MEMBERS_MAX 64u       /* working set members */
#define DBR_IDENTITIES_MAX 256u   /* ECUs that tell about themselves; a full bus has 254 */
#define DBR_LABEL_MAX 192u        /* bytes of an ECU's label: words, 24 characters, address */
#define DBR_TROUBLES_MAX 512u     /* trouble codes of all ECUs; one list holds up to 445 */
#define DBR_TROUBLE_SENDERS_MAX 256u /* ECUs that send DM1; a full bus has 254 */
#define DBR_TROUBLE_CLEARS_MAX 64u /* requests to clear codes; a service tool sends a few */
#define DBR_BROADCAST_STOPS_MAX 32u /* times of silence that were asked for */
#define DBR_LINK_INTERVALS_MAX 64u /* intervals kept of one link of one implement */
#define DBR_TRANSFER_FLOWS_MAX 1024u /* messages in several frames by sender and destination */
#define DBR_TRANSFER_FAILURES_MAX 256u /* of these, by how they fail; a sound bus has none */
#define DBR_STRAY_FLOWS_MAX 64u   /* control messages without a transfer, by sender and meaning */

/* Series of values over time. A chunk is taken when a value first falls into it. */
#define DBR_SERIES_BUCKET_NS INT64_C(62500000) /* the finest: no source sends much faster than 10/s */
#define DBR_SERIES_CHUNK 512u     /* buckets, 5 KiB: half a minute at the finest */
#define DBR_SERIES_BUCKETS_MAX (176u * DBR_SERIES_CHUNK) /* of one series: 25 h of 1 s each */
#define DBR_SERIES_CHUNKS_MAX 3276u /* of all series, 16 MiB: 18 over 25 h; a rig has 8 to 14 */

/* Series in a page, which together with its code is to stay below 1 MB */
#define DBR_PAGE_OVERVIEW_BUCKETS 2000u /* more than a screen has columns */
#define DBR_PAGE_SERIES_BYTES 450000u   /* details of all series, packed; the rest of 1 MB: scripts
                                           200 kB, report, tables, picture, close-ups */

/* Close-ups of findings: a second pass keeps this much of each window of some 20 s. */
#define DBR_CLOSEUPS_MAX 24u        /* windows; who reads more? */
#define DBR_CLOSEUP_MESSAGES_MAX 60u /* runs of messages that are shown of one: a screen or two */
#define DBR_CLOSEUP_STREAMS_MAX 256u /* senders and groups followed in one; a rig has some 150 */
#define DBR_CLOSEUP_CURVES_MAX 24u   /* speeds, and rates of elements */
#define DBR_CLOSEUP_POINTS_MAX 1024u /* of one curve: 40 s at 25 a second */

/* Diagnosis */
#define DBR_RIG_SECTIONS_MAX 32u  /* plugs along one cable */
#define DBR_RIG_ECUS_MAX 128u     /* of one machine; a bus holds 30 nodes (ISO 11783-2) */
#define DBR_RIG_PRODUCTS_MAX 16u
#define DBR_FINDINGS_MAX 4096u    /* further ones are counted */

/* Inbox */
#define DBR_INBOX_UPLOADS_MAX 200000u  /* some 1 KiB each; a busy support desk gets 100 a day */
#define DBR_INBOX_EVENTS_MAX 1000000u  /* faults and warnings that a history may be made of */
#define DBR_INBOX_REPORT_MAX (8u * 1024u * 1024u) /* bytes of one report; usually some 40 KiB. The
                                largest of tests/limits (1016 ECUs, 258 findings) has 2.6 MB; each
                                wide device (4000 references of 290 bytes) adds 1.2 MB */
#define DBR_INBOX_REPORT_VALUES_MAX 400000u /* of one report, each 64 to 150 bytes in memory while it
                                is read: 60 MiB. The same report has 112 000; a wide device 56 000 */
#define DBR_INBOX_TEXT_MAX 12289u      /* bytes kept of a path, title or sentence: a path of 4096,
                                none of which is UTF-8, shown by 3 each; others have < 1000 */
#define DBR_INBOX_JOBS_MAX 256u        /* processes at a time */
#define DBR_INBOX_PATH_MAX 4096u       /* bytes of a path below the folder of uploads */
#define DBR_INBOX_DEPTH_MAX 64u        /* folders in folders */
#define DBR_INBOX_PAGE_ROWS 1000u      /* of one page: some 1.3 MB, and still quick to sort */
#define DBR_INBOX_CODES_SHOWN 8u       /* kinds of finding in a row of the page; the rest is counted */
#define DBR_INBOX_LINKS_SHOWN 12u      /* uploads that a history links to; the rest is counted */

/* Printing */
#define DBR_PRINT_TERMS_MAX 64u    /* signals named on a command line */
#define DBR_PRINT_COLUMNS_MAX 256u /* of a table; what spreadsheets show is narrower */

#endif
