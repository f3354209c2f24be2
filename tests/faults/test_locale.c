/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "faults.h"
#include "kept.h"
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const with_comma[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "fr_FR.utf8", "pl_PL.UTF-8"};

/* A locale that writes a decimal comma; NULL when the machine has none. */
static const char *comma(void)
{
    const char *found = NULL;
    for (size_t i = 0; i < sizeof with_comma / sizeof with_comma[0] && found == NULL; i++)
        if (setlocale(LC_ALL, with_comma[i]) != NULL && strcmp(localeconv()->decimal_point, ",") == 0)
            found = with_comma[i];
    setlocale(LC_ALL, "C");
    return found;
}

/* The library's figures keep their point where its caller has chosen a comma. */
START_TEST(a_locale_does_not_show)
{
    const fault none = {.call = ""};
    const char *locale = comma();
    const char *line = fault_lines[_i];
    if (locale == NULL) {
        fprintf(stderr, "no locale with a decimal comma here: left out\n");
        return;
    }
    fault_write_inputs();
    const fault_outcome good = fault_run(&none, line);
    kept usual = keep(&good.run);
    kept_restore();
    setenv("BC_FAULT_LOCALE", locale, 1);
    const fault_outcome there = fault_run(&none, line);
    unsetenv("BC_FAULT_LOCALE");
    ck_assert_msg(kept_same(&usual, &there.run), "'%s' under %s: %d %s%s", line, locale, there.run.code, there.run.err,
                  there.run.out);
    kept_clear(&usual);
}
END_TEST

Suite *locale_suite(void)
{
    Suite *suite = suite_create("locale");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, a_locale_does_not_show, 0, (int)fault_line_count);
    suite_add_tcase(suite, tcase);
    return suite;
}
