/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/callouts.h>
#include <bloomcoat/cie.h>
#include <math.h>
#include <string.h>

static const bc_weight *find(bc_materials *materials, const char *name)
{
    const bc_weight *weight = NULL;
    bc_error error = {0};
    ck_assert_msg(bc_materials_weight(materials, name, NULL, &weight, &error) == BC_OK, "%s", error.message);
    return weight;
}

/* The integral of V(lambda) is 106.857 nm (CIE 018:2019, 1 nm steps from 360 to 830 nm). V'(lambda) peaks at 507 nm,
 * with 0.998 at 505 and 0.997 at 510 nm (the same, from memory). */
START_TEST(what_the_cie_publishes)
{
    const bc_weight *photopic = bc_weight_shipped("photopic"), *scotopic = bc_weight_shipped("scotopic");
    double integral = 0.0, from_nm, to_nm;
    for (double nm = 380.5; nm < 780.0; nm += 1.0)
        integral += bc_weight_at(photopic, nm);
    ck_assert_double_eq_tol(integral, 106.857, 0.01);
    ck_assert_double_eq(bc_weight_at(photopic, 555.0), 1.0);
    ck_assert_double_eq_tol(bc_weight_at(scotopic, 505.0), 0.998, 5e-4);
    ck_assert_double_eq_tol(bc_weight_at(scotopic, 510.0), 0.997, 5e-4);
    ck_assert_double_eq_tol(bc_weight_at(bc_weight_shipped("D65"), 560.0), 100.0, 1e-12);
    bc_weight_range(photopic, &from_nm, &to_nm);
    ck_assert(from_nm == 380.0 && to_nm == 780.0);
    ck_assert(bc_weight_at(photopic, 379.9) == 0.0 && bc_weight_at(photopic, 780.1) == 0.0);
}
END_TEST

/* The spectrum of illuminant A is that of a full radiator: 100 (560/l)^5 (e^(1.435e7/(2848*560)) - 1) /
 * (e^(1.435e7/(2848 l)) - 1) (ISO/CIE 11664-2). */
START_TEST(illuminant_a_is_its_formula)
{
    const bc_weight *lamp = bc_weight_shipped("A");
    for (int i = 0; i < BC_CIE_ROWS; i++) {
        const double nm = 380.0 + 5.0 * i;
        const double value =
            100.0 * pow(560.0 / nm, 5.0) * expm1(1.435e7 / (2848.0 * 560.0)) / expm1(1.435e7 / (2848.0 * nm));
        ck_assert_double_eq_tol(bc_weight_at(lamp, nm), value, 1e-5 * value);
    }
}
END_TEST

START_TEST(products)
{
    bc_materials *materials = scratch_materials();
    const bc_weight *one = find(materials, "D65*photopic");
    scratch_write("detector.csv", "wavelength_nm,weight\n400,0\n500,2\n1000,1\n");
    ck_assert_ptr_eq(one, find(materials, "photopic*D65"));
    ck_assert_ptr_ne(one, bc_weight_luminous());
    const bc_weight *own = find(materials, "A*detector");
    ck_assert_ptr_eq(own, find(materials, "A*detector"));
    ck_assert_str_eq(bc_weight_name(own), "A*detector");
    for (double nm = 390.0; nm <= 790.0; nm += 7.3) {
        const double detector = nm < 400.0 ? 0.0 : nm < 500.0 ? 2.0 * (nm - 400.0) / 100.0 : 2.0 - (nm - 500.0) / 500.0;
        ck_assert_double_eq_tol(
            bc_weight_at(one, nm),
            bc_weight_at(bc_weight_shipped("D65"), nm) * bc_weight_at(bc_weight_shipped("photopic"), nm), 1e-12);
        ck_assert_double_eq_tol(bc_weight_at(own, nm), bc_weight_at(bc_weight_shipped("A"), nm) * detector, 1e-9);
    }
    double from_nm, to_nm;
    bc_weight_range(own, &from_nm, &to_nm);
    ck_assert(from_nm == 400.0 && to_nm == 780.0);
    ck_assert_double_eq(bc_weight_finest_nm(own, 400.0, 780.0), 5.0);
    bc_materials_free(materials);
}
END_TEST

static const struct {
    const char *bytes, *name, *sentence;
} refused[] = {
    {NULL, "D66", "weight: found 'D66'; expected photopic, scotopic, D65, A, D50"},
    {NULL, "pupil", "NAME.csv with wavelength_nm,weight (of a cone of light: angle_deg,weight) in a folder"},
    {NULL, "D65*", "found ''; expected photopic"},
    {NULL, "../w", "found '../w'; expected photopic"},
    {NULL, "D65*A*D50*photopic*scotopic", "expected a product of at most 4 weights"},
    {"wavelength_nm,weight\n400,1\n", "w", "found a table of one row"},
    {"wavelength_nm,wavelength_um,weight\n400,0.4,1\n500,0.5,1\n", "w", "found more than one of wavelength_nm"},
    {"wavelength_nm,angle_deg,weight\n400,0.4,1\n500,0.5,1\n", "w", "found more than one of wavelength_nm"},
    {"weight\n1\n2\n", "w", "found no column wavelength_nm, wavelength_um or angle_deg"},
    {"angle_deg,weight\n0,1\n0,2\n", "w", "column 1 (angle_deg): found '0'; expected an angle above the '0' of line 2"},
    {"angle_deg,weight\n0,1\n91,2\n", "w", "found '91'; expected an angle from the axis in degrees from 0 to 90"},
    {"angle_deg,weight\n0,1\n20,1\n", "w*A", "expected one name: a weight over angle has no product"},
    {"angle_deg,weight\n0,1\n20,1\n", "A*w", "expected one name: a weight over angle has no product"},
    {"wavelength_nm,weight\n400,1\n400,1\n", "w",
     "w.csv:3: column 1 (wavelength_nm): found '400'; expected a wavelength above"},
    {"wavelength_nm,weight\n400,1\n500,-1\n", "w", "w.csv:3: column 2 (weight): found '-1'; expected a weight from 0"},
    {"wavelength_nm,weight\n400,0\n500,0\n", "w", "expected a weight above 0 in one row"},
    {"wavelength_nm,n\n400,0\n500,0\n", "w", "found 'n', an unknown column"},
    {"wavelength_um,weight\n0.9,1\n1.1,1\n", "w*A", "expected weights that have wavelengths in common"},
};

START_TEST(what_is_no_weight)
{
    bc_materials *materials = scratch_materials();
    const bc_weight *weight;
    bc_error error = {0};
    if (refused[_i].bytes != NULL)
        scratch_write("w.csv", refused[_i].bytes);
    ck_assert_int_eq(bc_materials_weight(materials, refused[_i].name, NULL, &weight, &error), BC_ERROR_INPUT);
    ck_assert_msg(strstr(error.message, refused[_i].sentence) != NULL, "%s", error.message);
    bc_materials_free(materials);
}
END_TEST

#define COLOUR_HEAD                                                                                                    \
    "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,limit,illuminant,observer\n"

START_TEST(colours_in_callouts)
{
    bc_materials *materials = scratch_materials();
    bc_callouts callouts;
    bc_error error = {0};
    const char *path = scratch_write("callouts.csv", COLOUR_HEAD "c,R,chroma,,,,0..30,unpolarized,<= 8,,\n"
                                                                 "a,T,a,,380,780,0,s,-6..2,A,10\n"
                                                                 "x,R,x,,,,0,unpolarized,0.3..0.34,D50,2\n"
                                                                 "ab,R,ab,,,,0,unpolarized,2 -3 +- 4 1.5 turned -30,,\n"
                                                                 "xy,R,XY,,,,0,unpolarized,.3 .32\xC2\xB1.02 .01,A,\n"
                                                                 "plain,R,max,<= 1,425,675,0,unpolarized,,,\n"
                                                                 "d,R,difference,,,,0,unpolarized,<= 3 from 21.5 1.2 "
                                                                 "-3.4,D50,\n");
    ck_assert_msg(bc_callouts_read(path, materials, &callouts, &error) == BC_OK, "%s", error.message);
    const bc_callout *row = callouts.callout;
    ck_assert(row[0].colour == BC_CHROMA && row[0].sense == BC_AT_MOST && row[0].statistic == BC_AVERAGE);
    ck_assert(row[0].from_nm == 380.0 && row[0].to_nm == 780.0 && row[0].target == 0.0);
    ck_assert_double_eq_tol(row[0].limit, 0.08, 1e-15);
    ck_assert_ptr_eq(row[0].weight, bc_weight_tristimulus(BC_ILLUMINANT_D65, BC_OBSERVER_2, 1));
    ck_assert(row[1].colour == BC_COLOUR_A && row[1].quantity == BC_T && row[1].illuminant == BC_ILLUMINANT_A);
    ck_assert(row[1].observer == BC_OBSERVER_10 && bc_callout_has_own_band(&row[1]));
    ck_assert_double_eq_tol(row[1].target, -0.02, 1e-15);
    ck_assert_double_eq_tol(row[1].limit, 0.04, 1e-15);
    ck_assert(row[2].colour == BC_COLOUR_X && row[2].illuminant == BC_ILLUMINANT_D50);
    ck_assert_double_eq_tol(row[2].target, 0.0032, 1e-15);
    ck_assert(row[3].colour == BC_ELLIPSE_AB && row[4].colour == BC_ELLIPSE_XY && row[3].limit == 0.01);
    ck_assert(row[3].ellipse.centre[0] == 2.0 && row[3].ellipse.centre[1] == -3.0 && row[4].ellipse.turn_rad == 0.0);
    ck_assert(row[3].ellipse.half_axis[0] == 4.0 && row[3].ellipse.half_axis[1] == 1.5);
    ck_assert_double_eq_tol(row[3].ellipse.turn_rad, -M_PI / 6.0, 1e-15);
    ck_assert(row[4].ellipse.centre[1] == 0.32 && row[4].ellipse.half_axis[1] == 0.01);
    ck_assert(row[5].colour == BC_NO_COLOUR && row[5].weight == NULL);
    ck_assert(row[6].colour == BC_COLOUR_DIFFERENCE && row[6].illuminant == BC_ILLUMINANT_D50);
    ck_assert(row[6].reference[0] == 21.5 && row[6].reference[1] == 1.2 && row[6].reference[2] == -3.4);
    ck_assert_double_eq_tol(row[6].limit, 0.03, 1e-15);
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
}
END_TEST

#define HEAD "name,quantity,statistic,limit_percent,from_nm,to_nm,aoi_deg,polarization,weight\n"

START_TEST(in_callouts)
{
    bc_materials *materials = scratch_materials();
    bc_callouts callouts;
    bc_error error = {0};
    const char *path = scratch_write("callouts.csv", HEAD "eye,R,luminous,<= 0.5,,,0,unpolarized,\n"
                                                          "stated,T,Luminous,>= 98,380,780,0,unpolarized,\n"
                                                          "lamp,R,average,<= 0.5,425,675,0,unpolarized,D65*photopic\n"
                                                          "plain,R,average,<= 0.5,425,675,0,unpolarized,\n");
    ck_assert_msg(bc_callouts_read(path, materials, &callouts, &error) == BC_OK, "%s", error.message);
    for (int i = 0; i < 2; i++) {
        ck_assert(bc_callout_is_luminous(&callouts.callout[i]) && callouts.callout[i].statistic == BC_AVERAGE);
        ck_assert(callouts.callout[i].from_nm == 380.0 && callouts.callout[i].to_nm == 780.0);
    }
    ck_assert_ptr_eq(callouts.callout[2].weight, bc_weight_shipped("D65*photopic"));
    ck_assert(!bc_callout_is_luminous(&callouts.callout[2]));
    ck_assert_ptr_null(callouts.callout[3].weight);
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
}
END_TEST

START_TEST(of_a_cone)
{
    bc_materials *materials = scratch_materials();
    bc_callouts callouts;
    bc_error error = {0};
    scratch_write("pupil.csv", "angle_deg,weight\n0,1\n10,2\n");
    const char *path =
        scratch_write("callouts.csv", HEAD "one,R,max,<= 1,425,675,0..20 cone 10 weighted pupil,unpolarized,\n"
                                           "plain,R,max,<= 1,425,675,20 cone 10,unpolarized,\n");
    ck_assert_msg(bc_callouts_read(path, materials, &callouts, &error) == BC_OK, "%s", error.message);
    ck_assert_str_eq(bc_weight_name(callouts.callout[0].cone_weight), "pupil");
    ck_assert_double_eq_tol(bc_weight_at(callouts.callout[0].cone_weight, 5.0), 1.5, 1e-14);
    ck_assert_double_eq_tol(callouts.callout[0].cone_rad, M_PI / 18.0, 1e-15);
    ck_assert_ptr_null(callouts.callout[1].cone_weight);
    bc_callouts_clear(&callouts);
    bc_materials_free(materials);
}
END_TEST

static const refusal refused_rows[] = {
    {"a cone weighted by a lamp",
     HEAD "x,R,max,<= 1,425,675,20 cone 10 weighted A,unpolarized,\n",
     0,
     {"column 7 (aoi_deg): found '20 cone 10 weighted A'; expected a weight over angle"}},
    {"a cone weighted by nothing",
     HEAD "x,R,max,<= 1,425,675,20 cone 10 weighted,unpolarized,\n",
     0,
     {"expected a cone's half-angle"}},
    {"a cone wider than its weight",
     HEAD "x,R,max,<= 1,425,675,20 cone 10.5 weighted pupil,unpolarized,\n",
     0,
     {"expected a weight that covers the cone, 0 to 10.5 degrees: 'pupil' is there from 0 to 10"}},
    {"a cone in a dark centre",
     HEAD "x,R,max,<= 1,425,675,20 cone 3 weighted ring,unpolarized,\n",
     0,
     {"expected a weight above 0 somewhere in the cone"}},
    {"an average weighted by angle",
     HEAD "x,R,average,<= 1,425,675,20,unpolarized,pupil\n",
     0,
     {"column 9 (weight): found 'pupil'; expected a weight over wavelength"}},
    {"a weight of an extreme",
     HEAD "x,R,max,<= 1,425,675,0,unpolarized,D65\n",
     0,
     {":2: column 9 (weight): found 'D65'; expected nothing: a weight goes with the statistic average"}},
    {"a weight of a luminous value",
     HEAD "x,R,luminous,<= 1,,,0,unpolarized,D65\n",
     0,
     {"column 9 (weight): found 'D65'; expected nothing: a luminous value has the weight D65*photopic"}},
    {"another band of a luminous value",
     HEAD "x,R,luminous,<= 1,400,780,0,unpolarized,\n",
     0,
     {"column 5 (from_nm): found '400'; expected 380 nm, or nothing: the band of a luminous value or a colour"}},
    {"half a band of a luminous value",
     HEAD "x,R,luminous,<= 1,380,,0,unpolarized,\n",
     0,
     {"column 6 (to_nm): found '' (not a number); expected a wavelength"}},
    {"a band beyond the weight",
     HEAD "x,R,average,<= 1,425,800,0,unpolarized,photopic\n",
     0,
     {"column 9 (weight): the weight 'photopic' is there from 380 to 780 nm; expected one that covers the band, 425 to "
      "800 nm"}},
    {"a colour in percent",
     COLOUR_HEAD "x,R,chroma,<= 8,,,0,unpolarized,,,\n",
     0,
     {"column 4 (limit_percent): found '<= 8'; expected nothing: a colour is not in percent"}},
    {"a chroma at least", COLOUR_HEAD "x,R,chroma,,,,0,unpolarized,>= 8,,\n", 0, {"found '>= 8'; expected a chroma"}},
    {"a chroma of 0", COLOUR_HEAD "x,R,chroma,,,,0,unpolarized,<= 0,,\n", 0, {"found '<= 0'; expected a chroma"}},
    {"a range of chroma", COLOUR_HEAD "x,R,chroma,,,,0,unpolarized,0..8,,\n", 0, {"found '0..8'; expected a chroma"}},
    {"a limit of a*", COLOUR_HEAD "x,R,a,,,,0,unpolarized,<= 8,,\n", 0, {"found '<= 8'; expected a range written"}},
    {"half an ellipse", COLOUR_HEAD "x,R,ab,,,,0,unpolarized,2 -3 +- 4,,\n", 0, {"expected an ellipse written as"}},
    {"more than an ellipse",
     COLOUR_HEAD "x,R,ab,,,,0,unpolarized,2 -3 +- 4 2 turned 3 4,,\n",
     0,
     {"column 9 (limit): found '2 -3 +- 4 2 turned 3 4'; expected an ellipse written as"}},
    {"a difference from nothing",
     COLOUR_HEAD "x,R,difference,,,,0,unpolarized,<= 3,,\n",
     0,
     {"the L*, a* and b* it is"}},
    {"half a reference", COLOUR_HEAD "x,R,difference,,,,0,unpolarized,<= 3 from 2 1,,\n", 0, {"the L*, a* and b* it"}},
    {"more than a reference",
     COLOUR_HEAD "x,R,difference,,,,0,unpolarized,<= 3 from 2 1 1 1,,\n",
     0,
     {"the L*, a* and b* it is from, written as '<= 3 from"}},
    {"a least difference", COLOUR_HEAD "x,R,difference,,,,0,unpolarized,>= 3 from 2 1 1,,\n", 0, {"found '>= 3 from"}},
    {"no difference", COLOUR_HEAD "x,R,difference,,,,0,unpolarized,<= 0 from 2 1 1,,\n", 0, {"from 0.000001 to 100"}},
    {"too light", COLOUR_HEAD "x,R,difference,,,,0,unpolarized,<= 1 from 101 1 1,,\n", 0, {"an L* from 0 to 100"}},
    {"a far reference",
     COLOUR_HEAD "x,R,difference,,,,0,unpolarized,<= 1 from 1 1 201,,\n",
     0,
     {"within -200 and 200"}},
    {"a flat ellipse", COLOUR_HEAD "x,R,ab,,,,0,unpolarized,2 -3 +- 4 0,,\n", 0, {"expected half-axes from"}},
    {"a far ellipse", COLOUR_HEAD "x,R,xy,,,,0,unpolarized,2 -300 +- 4 1,,\n", 0, {"expected a centre within"}},
    {"a twisted ellipse", COLOUR_HEAD "x,R,xy,,,,0,unpolarized,2 3 +- 4 1 turned 181,,\n", 0, {"expected a turn"}},
    {"a falling range", COLOUR_HEAD "x,R,b,,,,0,unpolarized,5..-5,,\n", 0, {"expected a range that rises"}},
    {"a half range", COLOUR_HEAD "x,R,b,,,,0,unpolarized,5..,,\n", 0, {"found '5..'; expected a range"}},
    {"no such lamp", COLOUR_HEAD "x,R,chroma,,,,0,unpolarized,<= 8,F2,\n", 0, {"column 10 (illuminant): found 'F2'"}},
    {"no such eye", COLOUR_HEAD "x,R,chroma,,,,0,unpolarized,<= 8,,3\n", 0, {"column 11 (observer): found '3'"}},
    {"a lamp of a maximum",
     COLOUR_HEAD "x,R,max,<= 1,1,2,0,unpolarized,,D65,\n",
     0,
     {"column 10 (illuminant): found 'D65'; expected nothing: the column belongs to the statistics chroma"}},
    {"a colour of another band",
     COLOUR_HEAD "x,R,chroma,,400,700,0,unpolarized,<= 8,,\n",
     0,
     {"column 5 (from_nm): found '400'; expected 380 nm, or nothing"}},
    {"no such weight", HEAD "x,R,average,<= 1,425,675,0,unpolarized,Photopic\n", 0, {"(weight): found 'Photopic'"}},
};

START_TEST(in_callouts_refused)
{
    bc_materials *materials = scratch_materials();
    bc_callouts callouts;
    bc_error error = {0};
    scratch_write("pupil.csv", "angle_deg,weight\n0,1\n10,2\n");
    scratch_write("ring.csv", "angle_deg,weight\n0,0\n5,0\n10,2\n");
    const bc_status status =
        bc_callouts_read(scratch_write("callouts.csv", refused_rows[_i].bytes), materials, &callouts, &error);
    expect_refusal(refused_rows[_i].what, status, &error, BC_ERROR_INPUT, refused_rows[_i].pieces);
    bc_materials_free(materials);
}
END_TEST

/* 0 all over the band: there is no average. */
START_TEST(a_weight_of_nothing)
{
    bc_materials *materials = scratch_materials();
    bc_callout callout = {.statistic = BC_AVERAGE, .from_nm = 410.0, .to_nm = 490.0};
    bc_error error = {0};
    scratch_write("gap.csv", "wavelength_nm,weight\n300,1\n400,0\n500,0\n600,1\n");
    callout.weight = find(materials, "gap");
    ck_assert_int_eq(bc_callout_check_weight(&callout, &error), BC_ERROR_INPUT);
    ck_assert_str_eq(error.message, "the weight 'gap' is 0 from 410 to 490 nm; expected one above 0 in the band");
    callout.to_nm = 501.0;
    ck_assert_int_eq(bc_callout_check_weight(&callout, &error), BC_OK);
    bc_materials_free(materials);
}
END_TEST

Suite *weights_suite(void)
{
    Suite *suite = suite_create("weights");
    TCase *tests = scratch_case("all");
    tcase_add_test(tests, what_the_cie_publishes);
    tcase_add_test(tests, illuminant_a_is_its_formula);
    tcase_add_test(tests, products);
    tcase_add_loop_test(tests, what_is_no_weight, 0, sizeof refused / sizeof *refused);
    tcase_add_test(tests, in_callouts);
    tcase_add_test(tests, of_a_cone);
    tcase_add_test(tests, colours_in_callouts);
    tcase_add_loop_test(tests, in_callouts_refused, 0, sizeof refused_rows / sizeof *refused_rows);
    tcase_add_test(tests, a_weight_of_nothing);
    suite_add_tcase(suite, tests);
    return suite;
}
