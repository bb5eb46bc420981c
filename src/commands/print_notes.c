/* print_notes.c - see print_notes.h. */
#include "commands/print_notes.h"

#include <inttypes.h>

#include "commands/commands.h"

static void note_file(const struct dbr_file_info *file)
{
    const char *unit = file->by_line ? "line" : "packet";

    for (int i = 0; i < DBR_REJECTION_COUNT; i++)
        if (file->rejections[i].count > 0)
            complain("%s: %" PRIu64 " of %" PRIu64 " %ss left out, the first is %s %" PRIu64 ": %s",
                     file->path, file->rejections[i].count, file->records, unit, unit,
                     file->rejections[i].first_at, dbr_rejection_words((enum dbr_rejection)i));
    if (file->truncated)
        complain("%s: ends early: %s", file->path, file->truncated_why);
}

void note_files(const struct dbr_recording_info *info)
{
    for (size_t i = 0; i < info->file_count; i++)
        note_file(&info->files[i]);
}

static void note_count(const char *what, uint64_t count, const char *more)
{
    if (count > 0)
        complain("%s: %" PRIu64 "%s", what, count, more);
}

static void note_transfers(const struct dbr_decoder *decoder)
{
    const struct dbr_decoder_counts *c = dbr_decoder_counts(decoder);
    const struct dbr_transport_counts *t = dbr_decoder_transport(decoder);

    note_count("failed transfers", c->failed_transfers, "; their messages never came whole");
    note_count("transfers that the recording does not hold whole", c->unseen_transfers, "");
    note_count("data packets of no announced transfer", t->stray_data, "; --frames shows them");
    note_count("grants, acknowledgements and aborts of no transfer", t->stray_control,
               "; --frames shows them");
    note_count("transfers beyond those that can be followed at a time", t->refused, "");
    note_count("messages beyond the memory for payloads", t->without_data, "");
    note_count("frames that the recorder sent and heard again", c->copies, "; they are printed once");
}

static void note_waiting(const struct dbr_recording_info *info, const struct dbr_decoder *decoder)
{
    const struct dbr_message *message;
    uint8_t interface, address;

    for (size_t i = 0; (message = dbr_decoder_waiting(decoder, i, &interface, &address)); i++)
        complain("\"%s\" (%u) from address %u of %s stays undecoded: its definition in %s waits "
                 "for the sender's NAME, which the recording does not show", message->name,
                 message->pgn, address, info->interfaces[interface], message->file);
}

/* The options that may have left everything out. */
static void note_nothing(const struct option_values *values)
{
    static const char *const filters[] = {"pgn", "address", "destination", "signal", "signals"};

    for (size_t i = 0; i < sizeof filters / sizeof filters[0]; i++)
        if (option_given(values, filters[i])) {
            complain("nothing to print: no message fits --%s %s%s", filters[i],
                     option_value(values, filters[i]),
                     option_given(values, "frames") ? "" : " (frames of transfers need --frames)");
            return;
        }
    complain("nothing to print: all frames belong to transfers; --frames shows them");
}

void print_notes(const struct option_values *values, const struct dbr_recording_info *info,
                 const struct dbr_decoder *decoder, uint64_t lines)
{
    note_files(info);
    note_transfers(decoder);
    note_waiting(info, decoder);
    if (lines == 0)
        note_nothing(values);
}
