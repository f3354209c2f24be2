/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Questions without a good answer, or with far too much to do: each ends, and says what came of it.
 */
#include "program.h"
#include <stdio.h>
#include <string.h>

#define HEADER "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
#define MANY   200

/* Callouts, glass and layers; how a draft and a quote end, and a piece of what the draft says. */
typedef struct question {
    const char *callouts, *substrate, *layers;
    int code;
    const char *says;
} question;

static const question questions[] = {
    {"low,R,max,<= 0.1,450,650,0,unpolarized\nhigh,R,min,>= 5,450,650,0,unpolarized\n", "1.52", "1.38,2.1", 1,
     "Not every callout is met"},
    {"line,R,max,<= 0.1,550,550,0,unpolarized\n", "1.52", "1.38,2.1", 0, "limit_used"},
    {"line,R,average,<= 0.1,550,550,0,unpolarized\n", "1.52", "1.38,2.1", 0, "limit_used"},
    {"line,R,max,<= 0.000001,550,550,0,unpolarized\n", "1.52", "1.38,2.1", -1, "limit_used"},
    {"band,R,max,<= 0,450,650,0,unpolarized\n", "1.52", "1.38,2.1", 2, "found '<= 0'; expected"},
    {"band,R,max,<= 1e-9,450,650,0,unpolarized\n", "1.52", "1.38,2.1", 2, "no real coating meets 0 percent"},
    {"band,T,min,>= 100,450,650,0,unpolarized\n", "1.52", "1.38,2.1", 2, "no real coating meets 100 percent"},
    {"band,R,max,<= 1,450,650,0,unpolarized\n", "1.52", "1.38", 1, "Not every callout is met"},
    {"band,R,max,<= 1,450,650,0,unpolarized\n", "1.38", "1.38", 1, "Not every callout is met"},
    {"band,R,max,<= 1,450,650,0,unpolarized\n", "1.52", "1.52,1", -1, "limit_used"},
    {"band,R,max,<= 1,450,650,0..30,unpolarized\n", "1", "1.38,2.1", 0, "limit_used"},
    {"band,R,max,<= 1,450,650,0,unpolarized\n", "1.5-4i", "1.38,2.1", 1, "Not every callout is met"},
    {"band,T,min,>= 50,450,650,0,unpolarized\n", "1.5-4i", "1.38,2.1", -1, "limit_used"},
    {"band,A,max,<= 1,450,650,0,unpolarized\n", "1.5-4i", "1.38-2i,2.1", -1, "limit_used"},
};
#define QUESTIONS ((int)(sizeof questions / sizeof questions[0]))

static void write_callouts(const char *rows)
{
    char text[4000];
    snprintf(text, sizeof text, HEADER "%s", rows);
    scratch_write("asked.csv", text);
}

static void expect_end(const question *asked, const char *piece, const char *line)
{
    const outcome result = run(line);
    if (asked->code >= 0)
        ck_assert_msg(result.code == asked->code, "'%s' on '%s' ended with %d: %s", line, asked->callouts, result.code,
                      result.err);
    else
        ck_assert_msg(result.code == 0 || result.code == 1, "'%s' ended with %d: %s", line, result.code, result.err);
    ck_assert_msg(strstr(result.err, piece) != NULL || strstr(result.out, piece) != NULL, "'%s' on '%s' says: %s%s",
                  line, asked->callouts, result.err, result.out);
}

START_TEST(a_draft_ends_in_words)
{
    const question *asked = &questions[_i];
    char line[400];
    write_callouts(asked->callouts);
    snprintf(line, sizeof line,
             "draft --callouts asked.csv --substrate %s --materials %s --max-layers 3 --effort 0.02 --prove 1",
             asked->substrate, asked->layers);
    expect_end(asked, asked->says, line);
}
END_TEST

/* One design that must do, and the quote's words for what will not. */
START_TEST(a_quote_ends_in_words)
{
    const question *asked = &questions[_i];
    char line[400];
    write_callouts(asked->callouts);
    snprintf(line, sizeof line,
             "quote --callouts asked.csv --substrate %s --materials %s --max-layers 2 --effort 0.05 --prove 1",
             asked->substrate, asked->layers);
    expect_end(asked,
               asked->code == 0   ? "easible"
               : asked->code == 1 ? "ot feasible"
               : asked->code == 2 ? asked->says
                                  : "easible",
               line);
}
END_TEST

/* The stack of so many layers that no search would find. */
static void write_many(void)
{
    static char text[MANY * 24 + 100];
    strcpy(text, "role,material,thickness_nm\nincident,air,\n");
    for (int layer = 0; layer < MANY; layer++)
        sprintf(text + strlen(text), "layer,%s,%d\n", layer % 2 == 0 ? "1.38" : "2.1", 20 + (layer * 37) % 61);
    strcat(text, "substrate,1.52,\n");
    scratch_write("many.csv", text);
}

START_TEST(two_hundred_layers_are_refined)
{
    outcome result;
    write_many();
    write_callouts("line,R,max,<= 0.5,550,550,0,unpolarized\n");
    result = run("refine many.csv --callouts asked.csv -o better.csv");
    ck_assert_msg(result.code == 0 || result.code == 1, "ended with %d: %s", result.code, result.err);
    ck_assert_int_eq(run("check better.csv --callouts asked.csv").code, result.code);
    ck_assert_ptr_nonnull(strstr(content("better.csv"), "layer,2.1,"));
}
END_TEST

/* More than the engines' bound of memory, which is counted before any is taken. */
START_TEST(what_would_need_too_much_memory_is_refused)
{
    char rows[4000] = "";
    for (int row = 0; row < 60; row++)
        sprintf(rows + strlen(rows), "b%d,R,max,<= 0.5,%d,%d,0..60,each\n", row, 400 + row, 700 + row);
    write_many();
    write_callouts(rows);
    expect(2, "GB of memory; at most 2 GB", "refine many.csv --callouts asked.csv");
    expect(2, "GB of memory; at most 2 GB",
           "draft --callouts asked.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 200 --effort 0.01");
}
END_TEST

Suite *bounds_suite(void)
{
    Suite *suite = suite_create("bounds");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 300); /* with the sanitizers on a busy machine */
    tcase_add_loop_test(tcase, a_draft_ends_in_words, 0, QUESTIONS);
    tcase_add_loop_test(tcase, a_quote_ends_in_words, 0, QUESTIONS);
    tcase_add_test(tcase, two_hundred_layers_are_refined);
    tcase_add_test(tcase, what_would_need_too_much_memory_is_refused);
    suite_add_tcase(suite, tcase);
    return suite;
}
