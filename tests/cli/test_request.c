/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "../report/markup.h"
#include "program.h"
#include <cjson/cJSON.h>
#include <stdio.h>
#include <string.h>

#define QUICK " --max-layers 1 --effort 0.05 --prove 0 --quiet "

/* Any limits that a callouts file may have; "odd" is for one glass alone. */
static const char callouts[] =
    "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,scope,substrate,weight,limit,illuminant,"
    "observer\n"
    "band,R,max,<= 0.35,420.5,680,0,unpolarized,surface,,,,,\n"
    "mean,R,average,<= 0.29,420,680,12.5..30,each,surface,,,,,\n"
    "through,T,min,>= 90.7,450,650,0..20,s,part,,,,,\n"
    "beam,R,max,<= 0.9,450,650,20 cone 7.5,unpolarized,surface,,,,,\n"
    "lamp,R,average,<= 0.9,450,650,0,unpolarized,surface,,A*photopic,,,\n"
    "eye,R,luminous,<= 0.9,,,0..15,unpolarized,surface,,,,,\n"
    "tint,R,chroma,,,,0,unpolarized,surface,,,<= 12,D50,10\n"
    "oval,R,ab,,,,0,unpolarized,surface,,,2 -3 +- 24 11.5 turned 30,A,2\n"
    "master,R,difference,,,,0,unpolarized,surface,,,<= 20.5 from 12.5 2 -3.25,D50,10\n"
    "box,R,b,,,,0,unpolarized,surface,,,-11..5,,\n"
    "even,T,min,>= 95.5,450,650,20..45,s/p,part,,,,,\n"
    "odd,R,max,<= 7,532,532,0,p,surface,517642,,,,\n";

static char *quoted(int code, const char *line)
{
    char *text = strdup(expect(code, NULL, line).out);
    ck_assert_ptr_nonnull(text);
    return text;
}

/* What --save writes is read back to the same answer, and saved again to the same bytes. */
START_TEST(what_is_saved_is_the_same_request)
{
    char *before, *after, *saved;
    scratch_write("any.csv", callouts);
    before = quoted(1, "quote --callouts any.csv --substrate 517642 --substrate 620603 --materials MgF2 --quantity 70 "
                       "--part-diameter-mm 12.5 --both-sides --one-run --prefer layers --back uncoated --save "
                       "a.request.csv --json" QUICK);
    saved = strdup(content("a.request.csv"));
    after = quoted(1, "quote a.request.csv --save b.request.csv --json --prove 0 --quiet");
    ck_assert_str_eq(saved, content("b.request.csv"));
    /* but for the file that the callouts came from */
    for (char *name; (name = strstr(before, "any.csv")) != NULL;)
        memmove(name, name + strlen("any.csv"), strlen(name + strlen("any.csv")) + 1);
    for (char *name; (name = strstr(after, "a.request.csv")) != NULL;)
        memmove(name, name + strlen("a.request.csv"), strlen(name + strlen("a.request.csv")) + 1);
    ck_assert_str_eq(before, after);
    ck_assert_ptr_nonnull(strstr(saved, "callout_name,odd\ncallout_substrate,517642\n"));
    ck_assert_ptr_nonnull(strstr(saved, "both_sides,yes\n"));
    free(before);
    free(after);
    free(saved);
}
END_TEST

static const char two[] =
    "key,value\nquantity,50\nmaterials,MgF2\nrequest_number,R-8\nsurface,S1\nsubstrate,620603\n"
    "callout,\"Rmax <= 5 %, 450-650 nm, 0 deg\"\nsurface,S2\nsubstrate,805254\n"
    "callout,\"Rmax <= 0.01 %, 450-650 nm, 0 deg\"\nradius_mm,60\nclear_aperture_mm,20\nzones,5\n";

/* An answer for each surface, each as if it were asked alone, and one page. */
START_TEST(each_surface_has_its_answer)
{
    cJSON *root, *surface;
    markup page;
    char *both;
    scratch_write("two.request.csv", two);
    both = quoted(1, "quote two.request.csv --json --report p.html --report p.pdf --price-csv p.csv --internal-report "
                     "i.html" QUICK);
    root = cJSON_Parse(both);
    surface = cJSON_GetObjectItem(root, "surfaces");
    ck_assert_int_eq(cJSON_GetArraySize(surface), 2);
    ck_assert_str_eq(cJSON_GetObjectItem(cJSON_GetArrayItem(surface, 0), "verdict")->valuestring, "feasible");
    ck_assert_str_eq(cJSON_GetObjectItem(cJSON_GetArrayItem(surface, 1), "verdict")->valuestring, "not feasible");
    ck_assert_str_eq(cJSON_GetObjectItem(cJSON_GetArrayItem(surface, 1), "name")->valuestring, "S2");
    ck_assert_ptr_nonnull(cJSON_GetObjectItem(cJSON_GetArrayItem(surface, 1), "options"));
    cJSON_Delete(root);
    page = markup_read(content("p.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Not feasible as asked"));
    ck_assert_ptr_nonnull(strstr(page.text, "S1: Offered as asked"));
    ck_assert_ptr_nonnull(strstr(page.text, "S2: Not feasible as asked"));
    ck_assert_ptr_nonnull(strstr(page.text, "R-8"));
    ck_assert_ptr_nonnull(strstr(page.text, "radius 60 mm"));
    ck_assert_ptr_null(strstr(page.text, "MgF2"));
    ck_assert_uint_eq(page.pictures, 2);
    free(page.text);
    page = markup_read(content("i.html"));
    ck_assert_ptr_nonnull(strstr(page.text, "Surface S2"));
    free(page.text);
    ck_assert_ptr_nonnull(strstr(content("p.csv"), "\nS1,1,yes,feasible,50,1,1,"));
    ck_assert_ptr_nonnull(strstr(content("p.csv"), "\nS2,1,yes,not feasible,50,1,1,"));
    free(both);
    /* The command line wins, over all surfaces. */
    both = quoted(1, "quote two.request.csv --substrate 1.5 --quantity 3" QUICK);
    ck_assert_ptr_nonnull(strstr(both, "Surface S1"));
    ck_assert_ptr_nonnull(strstr(both, "on 1.5."));
    ck_assert_ptr_null(strstr(both, "805254"));
    free(both);
}
END_TEST

static const struct {
    const char *rows, *said;
} wrong[] = {
    {"quantity,0\n", "w.request.csv:2: column 2 (value): found '0'; expected a whole number of parts"},
    {"colour,blue\n", "w.request.csv:2: column 1 (key): found 'colour'"},
    {"substrate,1.5\nmaterials,1.38\nmaterials,2.1\n", "w.request.csv:4: column 1 (key): found 'materials'"},
    {"substrate,1.5\nmaterials,1.38\n", "w.request.csv: found no callout"},
    {"substrate,1.5\ncallout,\"R < 1 %, 500-600 nm\"\nyield_percent,400\n",
     "w.request.csv:4: yield-percent: found '400'"},
    {"substrate,1.5\nmaterials,1.38\ncallout_name,x\ncallout,\"R < 1 %, 500-600 nm\"\n",
     "w.request.csv:4: callout_name: found 'x'; expected it after a callout"},
    {"both_sides,perhaps\n", "w.request.csv:2: both_sides: found 'perhaps'; expected yes or no"},
    {"materials,1.38\nsurface,S1\nsubstrate,1.5\ncallout,\"R < 1 %, 500-600 nm\"\nsurface,S2\nsubstrate,1.6\n",
     "w.request.csv: found no callout of surface S2"},
};

START_TEST(a_wrong_request_is_one_sentence)
{
    char rows[600];
    snprintf(rows, sizeof rows, "key,value\n%s", wrong[_i].rows);
    scratch_write("w.request.csv", rows);
    expect(2, wrong[_i].said, "quote w.request.csv --quiet --report p.html -o out.txt");
}
END_TEST

/* A request has words, no tables. */
START_TEST(a_table_of_ones_own_is_not_saved)
{
    scratch_write("pupil.csv", "angle_deg,weight\n0,1\n10,2\n");
    scratch_write("lamp.csv", "wavelength_nm,weight\n400,1\n700,2\n");
    scratch_write("c.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,weight\n"
                           "beam,R,max,<= 3,450,650,0 cone 9 weighted pupil,unpolarized,\n");
    expect(2, "the cone of callout 'beam' is weighted by a table of your own, 'pupil'",
           "quote --callouts c.csv --tables . --substrate 517642 --materials MgF2 --save s.request.csv" QUICK);
    scratch_write("c.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,weight\n"
                           "mean,R,average,<= 3,450,650,0,unpolarized,lamp\n");
    expect(2, "callout 'mean' is weighted by a table of your own, 'lamp'",
           "quote --callouts c.csv --tables . --substrate 517642 --materials MgF2 --save s.request.csv" QUICK);
}
END_TEST

START_TEST(a_request_is_not_written_over)
{
    scratch_write("two.request.csv", two);
    expect(2, "found one of the inputs", "quote two.request.csv --save two.request.csv" QUICK);
    ck_assert_str_eq(content("two.request.csv"), two);
}
END_TEST

Suite *cli_request_suite(void)
{
    Suite *suite = suite_create("requests");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    if (MANY_OR_FEW(true, false)) /* two long quotes of what the other tests ask for in short ones */
        tcase_add_test(tcase, what_is_saved_is_the_same_request);
    tcase_add_test(tcase, a_table_of_ones_own_is_not_saved);
    tcase_add_test(tcase, each_surface_has_its_answer);
    tcase_add_loop_test(tcase, a_wrong_request_is_one_sentence, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, a_request_is_not_written_over);
    suite_add_tcase(suite, tcase);
    return suite;
}
