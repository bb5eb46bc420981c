/* flows.h - recordings that drive a program to its ceilings, written as they are made. */
#ifndef TESTS_LIMITS_FLOWS_H
#define TESTS_LIMITS_FLOWS_H

#include <stdbool.h>
#include <stdio.h>

/* Writes it all; false where the reader is gone. */
typedef bool flow(FILE *out);

flow flow_addresses;     /* 254 addresses on each of 4 buses claim and send */
flow flow_groups;        /* each of the 2^18 parameter groups once */
flow flow_codes;         /* 10^6 trouble codes, all different */
flow flow_sessions;      /* 10^5 connections opened and left open */
flow flow_broadcasts;    /* the same as broadcasts, each with its first packet, of full size */
flow flow_interfaces;    /* 70 interfaces */
flow flow_long_line;     /* a line of 1 GB, between two frames */
flow flow_packed_zeros;  /* gzip: 1 GB of zeros */
flow flow_packed_frames; /* gzip: 1 GB of one line */
flow flow_deep_json;     /* a million lists in each other */
flow flow_large_json;    /* 8 MB of sound JSON */
flow flow_many_members;  /* 3 MB: one object of 300 000 members */

flow flow_report;        /* 20 000 findings of as many kinds, by as many ECUs */
flow flow_heavy_report;  /* all the bytes and nearly all the values that a report may have */
flow flow_vast_report;   /* 13 MB: 10^5 findings */
flow flow_dense_report;  /* 3 MB, of which each second byte is a value */

#endif
