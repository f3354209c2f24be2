/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Curved surfaces from the command line: the demo's steep concave element from end to end, and what is refused.
 */
#include "answer.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

#define AGREED  "--callouts " BC_SOURCE_DIR "/examples/concave-agreed-callouts.csv "
#define LAYERS  "--substrate 805254 --materials MgF2,HfO2,Al2O3 "
#define SURFACE "--radius-mm 15 --shape concave --angle-reference axis "
#define WHOLE   SURFACE "--clear-aperture-mm 20 "
#define LENS    "lens stack.csv --callouts callouts.csv "

/* A design for a plane surface fails at the edge; one factor helps, and is enough out to 12 mm; a draft for the whole
 * aperture holds everywhere, as `lens` finds it. */
START_TEST(the_steep_concave_element)
{
    cJSON *flat, *near, *drafted, *lens;
    expect(0, NULL, "draft " AGREED LAYERS "--quiet --effort 0.05 --prove 0 -o flat.csv");
    flat = parse(expect(1, NULL, "lens flat.csv " AGREED WHOLE "--json").out);
    ck_assert_double_gt(number_of(flat, "holds_to_mm"), 5.0);
    ck_assert_double_lt(number_of(flat, "holds_to_mm"), 12.0);
    ck_assert_double_lt(number_of(item_of(flat, "balance"), "limit_used"), number_of(flat, "limit_used"));
    ck_assert(cJSON_IsFalse(item_of(item_of(flat, "balance"), "pass")));
    near = parse(expect(1, NULL, "lens flat.csv " AGREED SURFACE "--clear-aperture-mm 12 --json").out);
    ck_assert(cJSON_IsTrue(item_of(item_of(near, "balance"), "pass")));
    ck_assert_double_eq_tol(number_of(near, "holds_to_mm"), number_of(flat, "holds_to_mm"), 0.01);
    drafted = parse(expect(0, NULL, "draft " AGREED LAYERS WHOLE "--effort 0.05 --prove 0 --json -o whole.csv").out);
    ck_assert_ptr_nonnull(strstr(content("whole.csv"), "thicknesses are those at its vertex"));
    lens = parse(expect(0, NULL, "lens whole.csv " AGREED WHOLE "--json").out);
    ck_assert_double_eq_tol(number_of(lens, "limit_used"), number_of(drafted, "limit_used"),
                            1e-3 * number_of(drafted, "limit_used"));
    ck_assert_double_eq(number_of(lens, "holds_to_mm"), 20.0);
    ck_assert_double_eq_tol(number_of(item_of(drafted, "surface"), "edge_thickness_factor"), sqrt(5.0) / 3.0, 1e-10);
    cJSON_Delete(flat);
    cJSON_Delete(near);
    cJSON_Delete(drafted);
    cJSON_Delete(lens);
}
END_TEST

START_TEST(the_report)
{
    outcome result;
    cJSON *root;
    const cJSON *curve, *zones;
    int count;
    write_inputs();
    result = expect(1, NULL, LENS "--radius-mm 20 --clear-aperture-mm 30 --roughness-nm 1");
    expect_narrow(result.out);
    ck_assert_ptr_nonnull(
        strstr(result.out, "Surface: convex, radius 20 mm, clear aperture 30 mm, slope at the edge 48.6"));
    ck_assert_ptr_nonnull(strstr(result.out, "radius mm  slope deg  thickness %  limit_used"));
    ck_assert_ptr_nonnull(strstr(result.out, "FAILS"));
    ck_assert_ptr_nonnull(strstr(result.out, "Scatter from a roughness of 1 nm rms"));
    ck_assert_str_eq(result.err, "");
    expect(1, NULL, LENS "--radius-mm 20 --clear-aperture-mm 30 --quiet -o report.txt");
    ck_assert_ptr_nonnull(strstr(content("report.txt"), "Balance: "));
    root = parse(expect(1, NULL, LENS "--radius-mm -20 --clear-aperture-mm 30 --zones 21 --json").out);
    ck_assert_str_eq(cJSON_GetStringValue(item_of(item_of(root, "surface"), "shape")), "concave");
    zones = item_of(root, "zones");
    count = cJSON_GetArraySize(item_of(zones, "radius_mm"));
    ck_assert_int_ge(count, 21);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(zones, "slope_deg")), count);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(zones, "thickness_factor")), count);
    cJSON_ArrayForEach(curve, item_of(root, "curves"))
    {
        ck_assert_int_eq(cJSON_GetArraySize(item_of(curve, "limit_used")), count);
        ck_assert_int_eq(cJSON_GetArraySize(item_of(curve, "value_percent")), count);
        ck_assert_int_eq(cJSON_GetArraySize(item_of(curve, "at_nm")), count);
        ck_assert_int_eq(cJSON_GetArraySize(item_of(curve, "aoi_deg")), count);
    }
    cJSON_Delete(root);
    /* a nearly flat one is a plane one */
    expect(0, NULL, LENS "--radius-mm 1000 --clear-aperture-mm 5");
    ck_assert_ptr_nonnull(
        strstr(expect(1, NULL, LENS "--radius-mm 20 --clear-aperture-mm 39").out, "Caution: beyond 17.3205 mm"));
}
END_TEST

/* A colour is no percentage, nor is its mean over the aperture. At the vertex it is that of the plane surface. */
START_TEST(a_colour_over_the_aperture)
{
    double plane;
    outcome result;
    cJSON *root;
    const cJSON *row, *value;
    write_inputs();
    scratch_write("tint.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,limit\n"
                              "tint,R,chroma,,,,0,unpolarized,<= 60\n");
    root = parse(expect(0, NULL, "check stack.csv --callouts tint.csv --json").out);
    plane = number_of(cJSON_GetArrayItem(item_of(root, "callouts"), 0), "value");
    cJSON_Delete(root);
    root =
        parse(expect(0, NULL, "lens stack.csv --callouts tint.csv --radius-mm 20 --clear-aperture-mm 30 --json").out);
    row = cJSON_GetArrayItem(item_of(root, "curves"), 0);
    value = item_of(row, "value");
    ck_assert(!cJSON_HasObjectItem(row, "value_percent") && cJSON_IsNull(item_of(row, "area_mean_percent")));
    ck_assert_double_eq_tol(cJSON_GetArrayItem(value, 0)->valuedouble, plane, 1e-9 * plane);
    ck_assert_int_eq(cJSON_GetArraySize(value), cJSON_GetArraySize(item_of(row, "limit_used")));
    ck_assert_double_eq_tol(cJSON_GetArrayItem(value, 0)->valuedouble / 60.0,
                            cJSON_GetArrayItem(item_of(row, "limit_used"), 0)->valuedouble, 1e-9);
    ck_assert_double_gt(number_of(row, "area_mean"), 0.0);
    ck_assert_int_eq(cJSON_GetArraySize(item_of(row, "at_nm")), cJSON_GetArraySize(value));
    ck_assert(cJSON_IsNull(cJSON_GetArrayItem(item_of(row, "at_nm"), 0)));
    cJSON_Delete(root);
    result = expect(0, NULL, "lens stack.csv --callouts tint.csv --radius-mm 20 --clear-aperture-mm 30");
    ck_assert_ptr_null(strstr(result.out, "worst %"));
    ck_assert_ptr_null(strstr(result.out, "area mean %"));
    ck_assert_ptr_nonnull(strstr(result.out, "at nm")); /* of no row: a colour is that of its whole band */
    ck_assert_ptr_null(strstr(result.out, " 380.0 "));
    ck_assert_ptr_null(strstr(result.out, " 780.0 "));
}
END_TEST

START_TEST(other_commands_take_the_surface)
{
    outcome result;
    write_inputs();
    scratch_write("process.csv", "material,thickness_sigma_percent\n*,1\n");
    scratch_write("loose.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                               "band,R,max,<= 1.5,450,650,0,unpolarized\n");
    result = expect(0, NULL,
                    "yield stack.csv --callouts loose.csv --process process.csv --runs 200 --radius-mm 20 "
                    "--clear-aperture-mm 12 ");
    ck_assert_ptr_nonnull(strstr(result.out, "judged at 41 zones"));
    result = run("refine stack.csv --callouts loose.csv --radius-mm 20 --clear-aperture-mm 12 -o refined.csv");
    ck_assert_ptr_nonnull(strstr(result.out, "at mm"));
    expect_narrow(result.out);
    result = run("quote --callouts loose.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2 --effort 0.1 --prove "
                 "0 --radius-mm 20 "
                 "--clear-aperture-mm 12");
    ck_assert_ptr_nonnull(strstr(result.out, "Surface: convex"));
    expect_narrow(result.out);
    expect(2, "no more than the part, 10 mm",
           "quote --callouts loose.csv --substrate 1.52 --materials 1.38,2.1 --part-diameter-mm 10 --radius-mm 20 "
           "--clear-aperture-mm 12");
    result = expect(0, NULL, LENS "--radius-mm 1000 --clear-aperture-mm 5 --angle-reference axis --axial-angle 5");
    ck_assert_ptr_nonnull(strstr(result.out, "Light: at 5 deg to the axis, in place of the callouts' angles"));
}
END_TEST

static const struct {
    const char *options, *says;
} wrong[] = {
    {"", "lens needs --radius-mm"},
    {"--radius-mm 15", "lens needs --clear-aperture-mm"},
    {"--radius-mm 0 --clear-aperture-mm 5", "--radius-mm: found '0'"},
    {"--radius-mm nan --clear-aperture-mm 5", "--radius-mm: found 'nan'"},
    {"--radius-mm 15 --clear-aperture-mm -5", "--clear-aperture-mm: found '-5'"},
    {"--radius-mm 15 --clear-aperture-mm 0", "--clear-aperture-mm: found '0'"},
    {"--radius-mm 15 --clear-aperture-mm nan", "--clear-aperture-mm: found 'nan'"},
    {"--radius-mm 15 --clear-aperture-mm 30", "a hemisphere"},
    {"--radius-mm 15 --clear-aperture-mm 31", "whole sphere"},
    {"--radius-mm 15 --clear-aperture-mm 5 --shape flat", "--shape: found 'flat'; expected 'convex' or 'concave'"},
    {"--radius-mm -15 --clear-aperture-mm 5 --shape convex", "negative --radius-mm"},
    {"--radius-mm 15 --clear-aperture-mm 5 --source point", "--source without --source-distance-mm"},
    {"--radius-mm 15 --clear-aperture-mm 20 --source-distance-mm 3", "in the shadow"},
    {"--radius-mm -15 --clear-aperture-mm 20 --source-distance-mm 3", "in front of the edge"},
    {"--radius-mm 15 --clear-aperture-mm 5 --source-distance-mm 100 --slope-exponent 1", "expected one way"},
    {"--radius-mm 15 --clear-aperture-mm 5 --slope-exponent -1", "--slope-exponent: found '-1'"},
    {"--radius-mm 15 --clear-aperture-mm 5 --zones 2", "--zones: found '2'"},
    {"--radius-mm 15 --clear-aperture-mm 5 --axial-angle 5", "--axial-angle without --angle-reference axis"},
    {"--radius-mm 15 --clear-aperture-mm 20 --angle-reference axis --axial-angle 60", "expected less than 90"},
    {"--radius-mm 15 --clear-aperture-mm 5 --thickness-profile none.csv", "none.csv"},
    {"--radius-mm 15 --clear-aperture-mm 5 --thickness-profile short.csv", "expected them to reach 2.5 mm"},
    {"--radius-mm 15 --clear-aperture-mm 5 --thickness-profile short.csv -o short.csv", "expected them to reach"},
    {"--radius-mm 15 --clear-aperture-mm 4 --thickness-profile short.csv -o short.csv", "short.csv"},
    {"--radius-mm 15 --clear-aperture-mm 5 --roughness-nm -1", "--roughness-nm: found '-1'"},
};

START_TEST(what_is_refused)
{
    char line[400];
    write_inputs();
    scratch_write("short.csv", "radius_mm,thickness_percent\n0,100\n2,97\n");
    snprintf(line, sizeof line, LENS "%s", wrong[_i].options);
    expect(2, wrong[_i].says, line);
    ck_assert_ptr_nonnull(strstr(content("short.csv"), "2,97"));
    if (_i > 0)
        return;
    expect(2, "found --shape without --radius-mm",
           "draft --callouts callouts.csv --substrate 1.52 --materials 1.38 --shape concave");
    expect(2, "scope part", "lens stack.csv --callouts part.csv --radius-mm 15 --clear-aperture-mm 5");
    expect(2, "scope part",
           "draft --callouts part.csv --substrate 1.52 --materials 1.38 --radius-mm 15 --clear-aperture-mm 5");
}
END_TEST

Suite *lens_suite(void)
{
    Suite *suite = suite_create("lens");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 600); /* with the sanitizers on a busy machine */
    if (MANY_OR_FEW(true, false))  /* drafts over many zones; the other tests take the same commands' options */
        tcase_add_test(tcase, the_steep_concave_element);
    tcase_add_test(tcase, the_report);
    tcase_add_test(tcase, a_colour_over_the_aperture);
    tcase_add_test(tcase, other_commands_take_the_surface);
    tcase_add_loop_test(tcase, what_is_refused, 0, (int)(sizeof wrong / sizeof *wrong));
    suite_add_tcase(suite, tcase);
    return suite;
}
