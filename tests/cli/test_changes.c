/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What if: changes of a stack on the command line, several stacks side by side, and one layer off at a time.
 */
#include "answer.h"
#include <math.h>
#include <stdio.h>
#include <string.h>

/* From the substrate: 2.0, 1.38, 1.6; the file is written from the other end. */
static void write_three(void)
{
    scratch_write("three.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.6,30\nlayer,1.38,90\nlayer,2.0,60\n"
                               "substrate,1.52,\n");
}

static void expect_layers(const char *options, const char *layers)
{
    char line[500];
    write_inputs();
    write_three();
    snprintf(line, sizeof line, "check three.csv --callouts callouts.csv --quiet %s --changed-stack changed.csv",
             options);
    const outcome result = run(line);
    ck_assert_msg(result.code == 0 || result.code == 1, "%s: %s", options, result.err);
    ck_assert_msg(strstr(content("changed.csv"), layers) != NULL, "%s gave %s", options, content("changed.csv"));
}

START_TEST(changes_are_those_asked)
{
    expect_layers("--set 1=61", "incident,air,\nlayer,1.6,30.000\nlayer,1.38,90.000\nlayer,2.0,61.000\nsubstrate");
    expect_layers("--set 2+1% --set 2-0.9", "layer,1.6,30.000\nlayer,1.38,90.000\nlayer,2.0,60.000\n");
    expect_layers("--set 3-50%", "layer,1.6,15.000\nlayer,1.38,90.000\nlayer,2.0,60.000\n");
    expect_layers("--scale 2", "layer,1.6,60.000\nlayer,1.38,180.000\nlayer,2.0,120.000\n");
    expect_layers("--scale 1.38=0.5", "layer,1.6,30.000\nlayer,1.38,45.000\nlayer,2.0,60.000\n");
    expect_layers("--replace 1=2.2", "layer,1.38,90.000\nlayer,2.2,60.000\nsubstrate");
    expect_layers("--insert 1=1.7:5", "layer,2.0,60.000\nlayer,1.7,5.000\nsubstrate");
    expect_layers("--insert 4=1.7:5", "incident,air,\nlayer,1.7,5.000\nlayer,1.6,30.000\n");
    expect_layers("--remove 1", "layer,1.6,30.000\nlayer,1.38,90.000\nsubstrate");
    expect_layers("--remove 3 --insert 1=1.7:5 --set 2=7",
                  "incident,air,\nlayer,1.38,90.000\nlayer,2.0,7.000\nlayer,1.7,5");
}
END_TEST

static double limit_used(const char *line)
{
    const outcome result = run(line);
    cJSON *json = parse(result.out);
    const double used = number_of(json, "limit_used");
    cJSON_Delete(json);
    return used;
}

/* A graded layer against a stair of 100 homogeneous ones. */
START_TEST(a_gradient_of_the_index_counts)
{
    static char stair[8000];
    size_t used = (size_t)snprintf(stair, sizeof stair, "role,material,thickness_nm\nincident,air,\n");
    for (int i = 0; i < 100; i++) /* the outer side first, where the index is highest */
        used += (size_t)snprintf(stair + used, sizeof stair - used, "layer,%.6f,1.1\n",
                                 2.0 * (1.045 - i * 0.0009 - 0.00045));
    snprintf(stair + used, sizeof stair - used, "substrate,1.52,\n");
    scratch_write("stair.csv", stair);
    scratch_write("graded.csv", "role,material,thickness_nm,index_gradient_percent\nincident,air,,\nlayer,2.0,110,9\n"
                                "substrate,1.52,,\n");
    scratch_write("plain.csv", "role,material,thickness_nm\nincident,air,\nlayer,2.0,110\nsubstrate,1.52,\n");
    scratch_write("band.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 60,400,700,30,p\n");
    const double step = limit_used("check stair.csv --callouts band.csv --json");
    const double own = limit_used("check graded.csv --callouts band.csv --json");
    const double none = limit_used("check plain.csv --callouts band.csv --json");
    ck_assert_double_eq_tol(own, step, 2e-5);
    ck_assert_double_gt(fabs(none - step), 1e-3);
}
END_TEST

/* What a draft found with a process's gradients says them in its file, and is checked as it was drafted. */
START_TEST(a_draft_keeps_the_gradients)
{
    scratch_write("gradient.csv", "material,index_gradient_percent\n2.1,8\n");
    scratch_write("band.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                              "band,R,max,<= 1,450,650,0,unpolarized\n");
    static const char draft[] =
        "draft --callouts band.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2 --effort "
        "0.1 --process gradient.csv --runs 100 ";
    char line[300];
    snprintf(line, sizeof line, "%s-o drafted.csv", draft);
    ck_assert_int_le(run(line).code, 1);
    ck_assert_ptr_nonnull(strstr(content("drafted.csv"), "index_gradient_percent\n"));
    ck_assert_ptr_nonnull(strstr(content("drafted.csv"), ",8\n"));
    snprintf(line, sizeof line, "%s--json", draft);
    ck_assert_double_eq_tol(limit_used(line), limit_used("check drafted.csv --callouts band.csv --json"), 1e-9);
}
END_TEST

static const struct {
    const char *option, *says;
} wrong[] = {
    {"--set 4=10", "but the stack has 3 layers"},
    {"--set 0=10", "but the stack has 3 layers"},
    {"--set two=10", "expected a layer and its thickness"},
    {"--set 2", "expected a layer and its thickness"},
    {"--set 2=1%", "expected a layer and its thickness"},
    {"--set 2+-1", "expected a layer and its thickness"},
    {"--set 2-90", "which leaves no layer"},
    {"--set 2=1e9", "which leaves no layer"},
    {"--scale 0", "expected a factor"},
    {"--scale MgF2=1.1", "no layer is made of it"},
    {"--replace 2=", "expected a layer and its material"},
    {"--replace 2=nosuch", "--replace: found 'nosuch'"},
    {"--insert 5=1.38:20", "but the stack has 3 layers"},
    {"--insert 1=1.38", "expected the number it gets"},
    {"--remove 1=", "expected the number of a layer"},
    {"--changed-stack x.csv", "found no change"},
    {"--set 1=60 --changed-stack three.csv", "one of the inputs"},
};

START_TEST(what_is_wrong_is_refused)
{
    char line[300];
    write_inputs();
    write_three();
    snprintf(line, sizeof line, "check three.csv --callouts callouts.csv %s", wrong[_i].option);
    expect(2, wrong[_i].says, line);
    ck_assert(!exists("x.csv"));
}
END_TEST

/* Before and after, and as a check of what was written says. */
START_TEST(side_by_side)
{
    cJSON *both, *alone;
    const cJSON *stacks;
    outcome result;
    write_inputs();
    write_three();
    both = parse(run("check three.csv three.csv --callouts callouts.csv --set 2+5% --changed-stack after.csv --json "
                     "--plot both.svg")
                     .out);
    stacks = array_of(both, "stacks");
    ck_assert_int_eq(cJSON_GetArraySize(stacks), 2);
    for (int s = 0; s < 2; s++) {
        alone = parse(run(s == 0 ? "check three.csv --callouts callouts.csv --json"
                                 : "check after.csv --callouts callouts.csv --json")
                          .out);
        ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(stacks, s), "limit_used"), number_of(alone, "limit_used"),
                                1e-9);
        cJSON_Delete(alone);
    }
    ck_assert_double_ne(number_of(cJSON_GetArrayItem(stacks, 0), "limit_used"),
                        number_of(cJSON_GetArrayItem(stacks, 1), "limit_used"));
    ck_assert_ptr_nonnull(strstr(string_of(cJSON_GetArrayItem(stacks, 1), "stack"), "(changed: --set 2+5%)"));
    ck_assert(exists("both.svg"));
    cJSON_Delete(both);
    result = run("check three.csv three.csv stack.csv --callouts callouts.csv --scale 1.01");
    expect_narrow(result.out);
    ck_assert_ptr_nonnull(strstr(result.out, "3: %"));
    /* What the second is made of has its caution too, and equal stacks are no better than each other. */
    result = run("check three.csv three.csv --callouts callouts.csv --replace 2=ZnS");
    expect_piece(&result, "ZnS: a sulfide");
    result = run("check three.csv three.csv --callouts callouts.csv --quiet");
    expect_piece(&result, "no less than another");
    ck_assert_ptr_null(strstr(result.out, "Cautions"));
    expect(2, "--report is for one stack", "check three.csv three.csv --callouts callouts.csv --report x.html");
}
END_TEST

START_TEST(spectra_side_by_side)
{
    const char *line;
    double nm, aoi, R1, T1, A1, R2, T2, A2, dR, dT, dA;
    write_inputs();
    write_three();
    line = expect(0, NULL, "spectrum three.csv three.csv --from 500 --to 500 --set 1=70 --quiet --plot x.svg").out;
    ck_assert_ptr_nonnull(strstr(line, "R_1_percent,T_1_percent,A_1_percent,R_2_percent,T_2_percent,A_2_percent,"
                                       "R_2_minus_1_percent,T_2_minus_1_percent,A_2_minus_1_percent\n"));
    line = strchr(line, '\n') + 1;
    ck_assert_int_eq(sscanf(line, "%lf,%lf,unpolarized,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf", &nm, &aoi, &R1, &T1, &A1,
                            &R2, &T2, &A2, &dR, &dT, &dA),
                     11);
    ck_assert_double_eq_tol(R1 + T1, 100.0, 1e-9);
    ck_assert_double_eq_tol(R2 - R1, dR, 1e-9);
    ck_assert_double_eq_tol(T2 - T1, dT, 1e-9);
    ck_assert_double_gt(fabs(dR), 1e-3);
}
END_TEST

/* One layer off by hand is what `check` finds of the changed stack. */
START_TEST(one_layer_off)
{
    static const char *const change[] = {"2-1%", "2+1%", "2-1", "2+1"};
    static const char *const object[] = {"thickness_1_percent", "thickness_1_percent", "thickness_1_nm",
                                         "thickness_1_nm"};
    cJSON *root, *check;
    const cJSON *layer;
    write_inputs();
    write_three();
    root = parse(run("sensitivity three.csv --callouts callouts.csv --json --plot bars.svg").out);
    ck_assert_int_eq(cJSON_GetArraySize(array_of(root, "layers")), 3);
    layer = cJSON_GetArrayItem(array_of(root, "layers"), 1);
    ck_assert_str_eq(string_of(layer, "material"), "1.38");
    for (int i = 0; i < 4; i++) {
        char line[200];
        snprintf(line, sizeof line, "check three.csv --callouts callouts.csv --json --set %s", change[i]);
        check = parse(run(line).out);
        ck_assert_double_eq_tol(number_of(item_of(layer, object[i]), i % 2 ? "limit_used_more" : "limit_used_less"),
                                number_of(check, "limit_used"), 1e-9);
        cJSON_Delete(check);
    }
    check = parse(run("check three.csv --callouts callouts.csv --json --replace 2=1.39").out);
    ck_assert_double_eq_tol(number_of(item_of(layer, "index_0_01"), "limit_used_more"), number_of(check, "limit_used"),
                            1e-9);
    cJSON_Delete(check);
    cJSON_Delete(root);
    expect_narrow(run("sensitivity three.csv --callouts callouts.csv").out);
    ck_assert(exists("bars.svg"));
}
END_TEST

/* n = 1.52 without dispersion reflects 4.258 % of any light (Fresnel), and is grey. */
START_TEST(colour_of_bare_glass_is_grey)
{
    scratch_write("bare.csv", "role,material,thickness_nm\nincident,air,\nsubstrate,1.52,\n");
    cJSON *root = parse(expect(0, NULL, "colour bare.csv --illuminant A --observer 10 --aoi 0,30 --json").out);
    const cJSON *angles = cJSON_GetObjectItem(root, "angles");
    ck_assert_int_eq(cJSON_GetArraySize(angles), 2);
    ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(angles, 0), "luminous_percent"), 4.25799949609, 1e-9);
    ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(angles, 0), "chroma"), 0.0, 1e-9);
    ck_assert_double_eq_tol(number_of(cJSON_GetArrayItem(angles, 1), "aoi_deg"), 30.0, 1e-12);
    cJSON_Delete(root);
    expect(2, "--illuminant: found 'D55'", "colour bare.csv --illuminant D55");
    expect(2, "--observer: found '5'", "colour bare.csv --observer 5");
    expect(2, "--aoi: found '90'", "colour bare.csv --aoi 90");
    expect(2, "--substrate-mm", "colour bare.csv --substrate-mm 2");
}
END_TEST

/* A quarter wave of index 1.38 with a tenth of pores: 100 0.1 0.333/1.38 % thicker where they fill. */
START_TEST(shift_shows_air_and_warmth)
{
    write_inputs();
    scratch_write("quarter.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,99.6377\nsubstrate,1.52,\n");
    scratch_write("dip.csv", "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization\n"
                             "dip,R,max,<= 1.3,545,555,0,unpolarized\n");
    cJSON *root = parse(expect(1, NULL, "shift quarter.csv --callouts dip.csv --packing 1.38=0.9 --json").out);
    ck_assert_double_eq_tol(number_of(root, "optical_thickness_percent"), 3.33 / 1.38, 1e-9);
    cJSON_Delete(root);
    root = parse(expect(0, NULL,
                        "shift quarter.csv --callouts dip.csv --expansion 1e-5 --dndt 1.52=1e-5 --to-c 120 "
                        "--from vacuum --to dry-air --json")
                     .out);
    ck_assert_double_eq_tol(number_of(root, "optical_thickness_percent"), 0.1, 1e-9);
    cJSON_Delete(root);
    const outcome text = run("shift quarter.csv --callouts dip.csv --packing 0.9 --from humid-air --to vacuum");
    ck_assert_ptr_nonnull(strstr(text.out, "optically 2.41 % thinner on the"));
    ck_assert_ptr_nonnull(strstr(text.out, "shorter"));
    expect(2, "nothing changes", "shift quarter.csv --callouts dip.csv");
    expect(2, "nothing changes", "shift quarter.csv --callouts dip.csv --packing 0.9 --to dry-air");
    expect(2, "no such material", "shift quarter.csv --callouts dip.csv --packing MgF2=0.9");
    expect(2, "--packing: found '1.2'", "shift quarter.csv --callouts dip.csv --packing 1.2");
    expect(2, "--dndt: found 'x'", "shift quarter.csv --callouts dip.csv --dndt x");
}
END_TEST

Suite *cli_changes_suite(void)
{
    Suite *suite = suite_create("changes");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 120);
    tcase_add_test(tcase, changes_are_those_asked);
    tcase_add_test(tcase, a_gradient_of_the_index_counts);
    tcase_add_test(tcase, a_draft_keeps_the_gradients);
    tcase_add_loop_test(tcase, what_is_wrong_is_refused, 0, sizeof wrong / sizeof wrong[0]);
    tcase_add_test(tcase, side_by_side);
    tcase_add_test(tcase, spectra_side_by_side);
    tcase_add_test(tcase, one_layer_off);
    tcase_add_test(tcase, shift_shows_air_and_warmth);
    tcase_add_test(tcase, colour_of_bare_glass_is_grey);
    suite_add_tcase(suite, tcase);
    return suite;
}
