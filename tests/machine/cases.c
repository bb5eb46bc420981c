/* cases.c - see cases.h. The inputs are made by run. */
#include "machine/cases.h"

#include <string.h>

const struct machine_case machine_cases[] = {
    {"messages", {"messages"}, {NULL}, true},
    {"messages-own", {"messages", "--definitions", "in/definitions"}, {NULL}, false},
    {"messages-verify", {"messages", "--verify", "in/definitions/belt.json"}, {NULL}, false},
    {"check-text", {"check", "in/fault.log"}, {NULL}, false},
    {"check-gzip", {"check", "in/fault.log.gz"}, {NULL}, false},
    {"check-pcap", {"check", "in/fault.pcap"}, {NULL}, false},
    {"check-pcapng", {"check", "in/fault.pcapng"}, {NULL}, false},
    {"check-two-files", {"check", "in/first.log", "in/second.log"}, {NULL}, false},
    {"check-rig",
     {"check", "--rig", "in/rig.json", "--definitions", "in/definitions", "--interface", "can0",
      "--from", "2", "--units", "us", "in/fault.log"},
     {NULL}, false},
    {"check-json", {"check", "--quiet", "--json", "out/a.json", "in/fault.log"}, {"out/a.json"}, false},
    {"check-json-out", {"check", "--json", "-", "in/fault.log"}, {NULL}, false},
    {"check-html", {"check", "--quiet", "--html", "out/a.html", "in/fault.log"}, {"out/a.html"}, false},
    {"check-all", {"check", "--html", "out/a.html", "--json", "out/a.json", "in/short.log"}, {NULL},
     false},
    {"check-for-inbox",
     {"check", "--quiet", "--for-inbox", "--json", "out/a.json", "in/short.log"}, {NULL}, false},
    {"check-not-for-inbox",
     {"check", "--quiet", "--for-inbox", "--json", "out/a.json", "in/words.txt"}, {NULL}, false},
    {"check-rig-from", {"check", "--rig-from", "in/fault.log"}, {NULL}, false},
    {"compare-text", {"compare", "in/fault.log", "in/sound.log"}, {NULL}, false},
    {"compare-all",
     {"compare", "--quiet", "--json", "out/a.json", "--html", "out/a.html", "in/short.log",
      "in/sound.log"},
     {"out/a.json", "out/a.html"}, false},
    {"print-text", {"print", "in/short.log"}, {NULL}, false},
    {"print-csv", {"print", "--format", "csv", "--frames", "in/short.log"}, {NULL}, false},
    {"print-columns", {"print", "--signals", "speed,DDI 141", "in/short.log"}, {NULL}, false},
    {"print-ndjson",
     {"print", "--format", "ndjson", "--signal", "speed", "--address", "240,128", "--pgn",
      "65096-65097", "in/fault.log.gz"},
     {NULL}, false},
    {"cut-text", {"cut", "in/fault.log", "-o", "out/a.log", "--from", "2", "--to", "4"}, {"out/a.log"},
     false},
    {"cut-out", {"cut", "in/fault.log", "-o", "-", "--from", "2", "--to", "3", "--claims"}, {NULL}, false},
    {"cut-gzip", {"cut", "in/fault.log", "-o", "out/a.log.gz", "--from", "2", "--to", "4"}, {NULL},
     false},
    {"cut-pcap", {"cut", "in/fault.pcap", "-o", "out/a.pcap", "--address", "128"}, {NULL}, false},
    {"cut-pcapng", {"cut", "in/fault.pcapng", "-o", "out/a.pcapng.gz", "--pgn", "65096"}, {NULL}, false},
    {"cut-around", {"cut", "in/fault.log", "-o", "out/a.log", "--around", "all", "--seconds", "1"},
     {NULL}, false},
    {"inbox", {"inbox", "in/uploads", "--out", "out/site", "--jobs", "1"}, {NULL}, false},
    {"inbox-reports", {"inbox", "--reports", "in/reports", "--out", "out/site"}, {NULL}, false},
};

const size_t machine_case_count = sizeof machine_cases / sizeof machine_cases[0];

static const struct machine_exception exceptions[] = {
    {"check-for-inbox", FAULT_LOOK, NULL, "the digest is null: unknown, as of a stream"},
    {"check-for-inbox", FAULT_OPEN, "open", "the digest is null: unknown, as of a stream"},
    {"check-for-inbox", FAULT_READ, "read", "the digest is null: unknown, as of a stream"},
    {"check-not-for-inbox", FAULT_LOOK, NULL, "the digest is null: unknown, as of a stream"},
    {"check-not-for-inbox", FAULT_OPEN, "open", "the digest is null: unknown, as of a stream"},
    {"check-not-for-inbox", FAULT_READ, "read", "the digest is null: unknown, as of a stream"},
    {"inbox", FAULT_OPEN, "opendir", "what cannot be read is counted on standard error"},
    {"inbox", FAULT_OPEN, "open", "what cannot be read is counted on standard error"},
    {"inbox", FAULT_READ, NULL, "what cannot be read is counted on standard error"},
    {"inbox", FAULT_LOOK, NULL, "what cannot be read is counted on standard error"},
    {"check-all", FAULT_LOOK, "stat", "a recording that is gone again has no close-ups, as a stream"},
    {"check-html", FAULT_LOOK, "stat", "a recording that is gone again has no close-ups, as a stream"},
};

const struct machine_exception *machine_exception(const struct machine_case *c,
                                                  enum fault_kind kind, const char *function)
{
    for (size_t i = 0; i < sizeof exceptions / sizeof exceptions[0]; i++) {
        const struct machine_exception *e = &exceptions[i];
        if (e->kind == kind && strncmp(c->name, e->command, strlen(e->command)) == 0 &&
            (!e->function || (function && strcmp(e->function, function) == 0)))
            return e;
    }
    return NULL;
}
