/* writer.c - see drawbar/writing.h. */
#include "writing/writer.h"

#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const struct form *form_of(enum dbr_form form)
{
    switch (form) {
    case DBR_FORM_PCAP:
        return &form_pcap;
    case DBR_FORM_PCAPNG:
        return &form_pcapng;
    case DBR_FORM_TEXT:
        break;
    }
    return &form_text;
}

int dbr_writer_open(struct dbr_writer **writer, FILE *file,
                    const struct dbr_writing_options *options, struct dbr_error *error)
{
    struct dbr_writer *w = calloc(1, sizeof *w);

    *writer = NULL;
    if (!w)
        return dbr_error_set(error, DBR_ERROR_MEMORY, "out of memory");
    w->options = *options;
    w->form = form_of(options->form);
    if (sink_open(&w->sink, file, options->compress, error) < 0) {
        free(w);
        return -1;
    }
    if (w->form->begin(w, error) < 0) {
        sink_close(&w->sink, NULL);
        free(w);
        return -1;
    }
    *writer = w;
    return 0;
}

int dbr_writer_frame(struct dbr_writer *w, const struct dbr_frame *frame, struct dbr_error *error)
{
    int64_t stamp_ns;

    if (__builtin_add_overflow(w->options.start_ns, frame->at_ns, &stamp_ns) || stamp_ns < 0)
        return dbr_error_set(error, DBR_ERROR_USAGE,
                             "a time beyond the year 2262 cannot be written");
    return w->form->frame(w, frame, stamp_ns, error);
}

int dbr_writer_close(struct dbr_writer *w, struct dbr_error *error)
{
    if (!w)
        return 0;
    int status = sink_close(&w->sink, error);
    free(w);
    return status;
}

bool dbr_form_of_name(const char *name, enum dbr_form *form, bool *compress)
{
    static const struct {
        const char *ending;
        enum dbr_form form;
    } endings[] = {{".log", DBR_FORM_TEXT},
                   {".txt", DBR_FORM_TEXT},
                   {".candump", DBR_FORM_TEXT},
                   {".pcap", DBR_FORM_PCAP},
                   {".pcapng", DBR_FORM_PCAPNG}};
    size_t length = strlen(name);

    *compress = length > 3 && strcasecmp(name + length - 3, ".gz") == 0;
    if (*compress)
        length -= 3;
    for (size_t i = 0; i < sizeof endings / sizeof endings[0]; i++) {
        size_t ending = strlen(endings[i].ending);
        if (length > ending && strncasecmp(name + length - ending, endings[i].ending, ending) == 0) {
            *form = endings[i].form;
            return true;
        }
    }
    return false;
}
