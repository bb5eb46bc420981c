/* What a recording may hold, and what of it reaches the page. */
#include <criterion/criterion.h>
#include <stdlib.h>

#include "reporting/html_text.h"

static char *through(void (*write)(FILE *out, const char *text), const char *text)
{
    char *written = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&written, &size);

    write(out, text);
    fclose(out);
    return written;
}

Test(reporting_html_text, markup_becomes_text)
{
    char *text = through(html_text, "<img src=\"x\" onerror='f()'>&amp;");

    cr_assert_str_eq(text, "&lt;img src=&quot;x&quot; onerror=&#39;f()&#39;&gt;&amp;amp;");
    free(text);
}

Test(reporting_html_text, controls_and_broken_bytes_are_shown_as_replaced)
{
    char *text = through(html_text, "a\x1b[31m\xC3\xA4\xFF\xE2\x80\xAE" "b\xC3");

    cr_assert_str_eq(text, "a\xEF\xBF\xBD[31m\xC3\xA4\xEF\xBF\xBD\xEF\xBF\xBD" "b\xEF\xBF\xBD");
    free(text);
}

Test(reporting_html_text, a_long_text_is_whole)
{
    char *long_text = malloc(100001);

    cr_assert_not_null(long_text);
    for (size_t i = 0; i < 100000; i++)
        long_text[i] = 'a';
    long_text[100000] = '\0';
    char *text = through(html_text, long_text);
    cr_assert_str_eq(text, long_text);
    free(text);
    free(long_text);
}

Test(reporting_html_text, no_text_ends_a_data_block)
{
    char *text = through(html_json, "{\"a\":\"</script><!--&\"}");

    cr_assert_str_eq(text, "{\"a\":\"\\u003c/script\\u003e\\u003c!--\\u0026\"}");
    free(text);
}

Test(reporting_html_text, a_format_is_escaped_after_it_is_filled)
{
    char *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);

    html_format(out, "%s on %u", "<can>", 3u);
    fclose(out);
    cr_assert_str_eq(text, "&lt;can&gt; on 3");
    free(text);
}
