/* page_text.c - times, figures and names in the page (page.h). */
#include <string.h>
#include <time.h>

#include "diagnosis/units.h"
#include "reporting/html_text.h"
#include "reporting/page.h"

#define MOMENT_NS INT64_C(50000000) /* shorter than the 0.1 s that is printed: "at" */
#define DAY_NS INT64_C(86400000000000)

void page_both(const struct page *p, const char *metric, const char *us)
{
    if (strcmp(metric, us) == 0) {
        html_text(p->out, metric);
        return;
    }
    fputs("<span class=\"metric\">", p->out);
    html_text(p->out, metric);
    fputs("</span><span class=\"us\">", p->out);
    html_text(p->out, us);
    fputs("</span>", p->out);
}

void page_speed(const struct page *p, double mps)
{
    char metric[UNITS_TEXT_MAX], us[UNITS_TEXT_MAX];

    page_both(p, units_speed(metric, DBR_UNITS_METRIC, mps), units_speed(us, DBR_UNITS_US, mps));
}

void page_mass_rate(const struct page *p, double kg_m2)
{
    char metric[UNITS_TEXT_MAX], us[UNITS_TEXT_MAX];

    page_both(p, units_mass_rate(metric, DBR_UNITS_METRIC, kg_m2),
              units_mass_rate(us, DBR_UNITS_US, kg_m2));
}

const char *page_clock(char *out, size_t size, const struct dbr_recording_info *info,
                       int64_t at_ns)
{
    struct tm civil;
    time_t seconds = (time_t)((info->start_ns + at_ns) / 1000000000);
    bool days = info->start_ns / DAY_NS != (info->start_ns + info->last_ns) / DAY_NS;

    out[0] = '\0';
    if (info->time_base == DBR_TIME_EPOCH && gmtime_r(&seconds, &civil))
        strftime(out, size, days ? "%m-%d %H:%M:%S" : "%H:%M:%S", &civil);
    return out;
}

void page_time(const struct page *p, int64_t ns)
{
    char clock[32];

    if (!p->r->history->timed) {
        fputs("unknown", p->out);
        return;
    }
    fprintf(p->out, "<span class=\"time\">%.1f s", (double)ns / 1e9);
    if (*page_clock(clock, sizeof clock, p->r->info, ns))
        fprintf(p->out, " <span class=\"clock\">%s</span>", clock);
    fputs("</span>", p->out);
}

void page_when(const struct page *p, const struct dbr_finding *f)
{
    if (!f->timed)
        return;
    bool moment = !f->open && f->end_ns - f->start_ns < MOMENT_NS;
    fputs(moment ? "at " : "from ", p->out);
    page_time(p, f->start_ns);
    if (f->open)
        fputs(" to the end", p->out);
    if (f->open || moment)
        return;
    fputs(" to ", p->out);
    page_time(p, f->end_ns);
}

void page_ecu(const struct page *p, uint8_t interface, uint8_t address)
{
    const struct dbr_ecu *ecu = dbr_history_ecu(p->r->history, interface, address);
    char label[DBR_LABEL_MAX];

    snprintf(label, sizeof label, "address %u", address);
    if (ecu)
        dbr_ecu_label(label, sizeof label, ecu);
    html_text(p->out, label);
}

void page_severity(const struct page *p, enum dbr_severity severity)
{
    static const struct {
        const char *class, *mark, *word;
    } heads[] = {[DBR_NOTE] = {"note", "&#9675;", "Note"},
                 [DBR_WARNING] = {"warning", "&#9650;", "Warning"},
                 [DBR_FAULT] = {"fault", "&#9632;", "Fault"}};

    fprintf(p->out, "<span class=\"severity %s\"><span aria-hidden=\"true\">%s</span> %s</span> ",
            heads[severity].class, heads[severity].mark, heads[severity].word);
}
