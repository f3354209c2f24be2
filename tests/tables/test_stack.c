/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/stack.h>
#include <math.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])

static void write_tables(void)
{
    scratch_write("MgF2.csv", "wavelength_nm,n\n400,1.38\n1200,1.38\n");
    scratch_write("HfO2.csv", "wavelength_nm,n\n400,2.1\n500,2\n600,1.95\n");
    scratch_write("517642.csv", "wavelength_nm,n\n400,1.53\n1200,1.51\n");
}

static void read_good(const char *text, bc_materials *materials, bc_stack *stack)
{
    bc_error error = {0};
    bc_status status = bc_stack_read(scratch_write("stack.csv", text), materials, stack, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
}

static void expect_layer(const bc_stack *stack, size_t layer, const char *material, double thickness_nm, bool fixed)
{
    ck_assert_str_eq(stack->layer[layer].material.name, material);
    ck_assert_str_eq(bc_dispersion_name(stack->layer[layer].material.dispersion), material);
    ck_assert_double_eq_tol(stack->layer[layer].thickness_nm, thickness_nm, 1e-12);
    ck_assert(stack->layer[layer].fixed == fixed);
}

/* One stack, written in both directions and in other ways. */
START_TEST(same_stack)
{
    static const struct {
        const char *text;
        bool from_substrate;
    } cases[] = {
        {"role,material,thickness_nm\nincident,air,\nlayer,MgF2,91.4\nlayer,HfO2,131.0\nsubstrate,517642,\n", false},
        {"role,material,thickness_nm\nsubstrate,517642,\nlayer,HfO2,131\nlayer,MgF2,91.4\nincident,air,\n", true},
        {"\xEF\xBB\xBF# ours\r\n\r\nthickness_nm,role,material\r\n,incident,air\r\n91.4,layer,MgF2\r\n# "
         "x\r\n131,layer,HfO2\r\n"
         ",substrate,517642\r\n",
         false},
        {"role,material,thickness_nm,fixed\nincident,air,,\nlayer,MgF2,9.14e1,no\nlayer,HfO2,131,\nsubstrate,517642,,"
         "no\n",
         false},
        {"at_nm,role,material,thickness_nm,quarter_waves\n,incident,air,,\n,layer,MgF2,91.4,\n,layer,HfO2,131,\n"
         ",substrate,517642,,\n",
         false},
    };
    write_tables();
    for (size_t i = 0; i < COUNT(cases); i++) {
        bc_materials *materials = scratch_materials();
        bc_stack stack;
        read_good(cases[i].text, materials, &stack);
        ck_assert_uint_eq(stack.layers, 2);
        ck_assert(stack.from_substrate == cases[i].from_substrate);
        ck_assert_str_eq(stack.incident.name, "air");
        ck_assert_str_eq(stack.substrate.name, "517642");
        expect_layer(&stack, 0, "MgF2", 91.4, false);
        expect_layer(&stack, 1, "HfO2", 131, false);
        ck_assert_double_eq_tol(bc_stack_total_nm(&stack), 222.4, 1e-12);
        bc_stack_clear(&stack);
        bc_materials_free(materials);
    }
}
END_TEST

START_TEST(bare_surface)
{
    bc_materials *materials = new_materials();
    bc_stack stack;
    read_good("role,material,thickness_nm\nsubstrate,3.1-3.3i,\nincident,1.33,\n", materials, &stack);
    ck_assert_uint_eq(stack.layers, 0);
    ck_assert(stack.from_substrate);
    ck_assert_str_eq(stack.substrate.name, "3.1-3.3i");
    ck_assert_str_eq(stack.incident.name, "1.33");
    ck_assert(bc_stack_total_nm(&stack) == 0);
    bc_stack_clear(&stack);
    bc_materials_free(materials);
}
END_TEST

/* A gradient makes another material of the same table; an empty cell leaves it open, a 0 does not. */
START_TEST(index_gradient)
{
    static const double nm = 500.0;
    bc_materials *materials;
    const bc_dispersion *plain, *again;
    bc_stack stack;
    bc_error error = {0};
    double n = 0.0;
    write_tables();
    materials = scratch_materials();
    read_good("role,material,thickness_nm,index_gradient_percent\nincident,air,,\nlayer,MgF2,91.4,0\n"
              "layer,HfO2,131,-2.5\nlayer,MgF2,30,\nlayer,HfO2,20,-2.5\nsubstrate,517642,,\n",
              materials, &stack);
    for (size_t j = 0; j < 4; j++)
        expect_layer(&stack, j, j % 2 ? "HfO2" : "MgF2", stack.layer[j].thickness_nm, false);
    ck_assert(bc_materials_find(materials, "HfO2", NULL, &plain, &error) == BC_OK);
    ck_assert(bc_dispersion_gradient(stack.layer[1].material.dispersion) == -0.025);
    ck_assert_ptr_eq(stack.layer[1].material.dispersion, stack.layer[3].material.dispersion);
    ck_assert_ptr_ne(stack.layer[1].material.dispersion, plain);
    ck_assert_ptr_eq(bc_dispersion_base(stack.layer[1].material.dispersion), plain);
    ck_assert(bc_dispersion_gradient(plain) == 0.0 && !bc_dispersion_states_gradient(plain));
    ck_assert(bc_dispersion_index(stack.layer[1].material.dispersion, 1, &nm, &n, NULL, &error) == BC_OK && n == 2.0);
    ck_assert(bc_dispersion_states_gradient(stack.layer[0].material.dispersion));
    ck_assert(bc_dispersion_gradient(stack.layer[0].material.dispersion) == 0.0);
    ck_assert(!bc_dispersion_states_gradient(stack.layer[2].material.dispersion));
    ck_assert(bc_materials_graded(materials, stack.layer[1].material.dispersion, 0.1, &again, &error) == BC_OK);
    ck_assert(bc_dispersion_gradient(again) == 0.1 && bc_dispersion_base(again) == plain);
    ck_assert(bc_materials_graded(materials, plain, 0.6, &again, &error) == BC_ERROR_INPUT);
    ck_assert_ptr_nonnull(strstr(error.message, "60 %"));
    bc_stack_clear(&stack);
    bc_materials_free(materials);
}
END_TEST

/* By hand: 1 x 552 / (4 x 1.38) = 100; 2 x 920 / (4 x 2.3) = 200; HfO2 has n = 2 at 500 nm: 1.5 x 500 / (4 x 2)
 * = 93.75. */
START_TEST(quarter_waves)
{
    bc_materials *materials;
    bc_stack stack;
    write_tables();
    materials = scratch_materials();
    read_good("role,material,thickness_nm,quarter_waves,at_nm,fixed\n"
              "incident,air,,,,\n"
              "layer,1.38,,1,552,yes\n"
              "layer,2.3,,2,920,\n"
              "layer,HfO2,,1.5,500,no\n"
              "layer,HfO2,12.5,,,yes\n"
              "layer,1.5-0.2i,,1,600,\n"
              "substrate,517642,,,,yes\n",
              materials, &stack);
    ck_assert_uint_eq(stack.layers, 5);
    expect_layer(&stack, 0, "1.38", 100, true);
    expect_layer(&stack, 1, "2.3", 200, false);
    expect_layer(&stack, 2, "HfO2", 93.75, false);
    expect_layer(&stack, 3, "HfO2", 12.5, true);
    expect_layer(&stack, 4, "1.5-0.2i", 100, false);
    bc_stack_clear(&stack);
    read_good(
        "role,material,quarter_waves,at_nm\nsubstrate,1.52,,\nlayer,2.3,2,920\nlayer,1.38,1,552\nincident,air,,\n",
        materials, &stack);
    expect_layer(&stack, 0, "1.38", 100, false);
    expect_layer(&stack, 1, "2.3", 200, false);
    bc_stack_clear(&stack);
    bc_materials_free(materials);
}
END_TEST

#define THREE(layer) "role,material,thickness_nm\nincident,air,\n" layer "\nsubstrate,517642,\n"
#define SIX(layer)                                                                                                     \
    "role,material,thickness_nm,quarter_waves,at_nm,fixed\nincident,air,,,,\n" layer "\nsubstrate,517642,,,,\n"

static const refusal refusals[] = {
    {"no role",
     "material,thickness_nm\nair,\n",
     0,
     {"stack.csv:1: found a header without role; expected a header such as"}},
    {"no thickness",
     "role,material\nincident,air\nsubstrate,1.5\n",
     0,
     {"stack.csv:1: found a header without thickness_nm (or quarter_waves and at_nm); expected"}},
    {"no at_nm",
     "role,material,thickness_nm,quarter_waves\nincident,air,,\nsubstrate,1.5,,\n",
     0,
     {"stack.csv:1: found a header without at_nm, the wavelength that quarter_waves are meant at; expected"}},
    {"at_nm alone",
     "role,material,thickness_nm,at_nm\nincident,air,,\nsubstrate,1.5,,\n",
     0,
     {"stack.csv:1: found a header without quarter_waves"}},
    {"misspelt optional column",
     "role,material,thickness_nm,fixd\nincident,air,,\nsubstrate,1.5,,\n",
     0,
     {"stack.csv:1: column 4: found 'fixd', an unknown column; expected 'fixed'"}},
    {"no incident",
     "role,material,thickness_nm\nlayer,MgF2,91.4\nsubstrate,517642,\n",
     0,
     {"stack.csv: found no row with the role 'incident'; expected 'incident' at one end"}},
    {"no substrate",
     "role,material,thickness_nm\nincident,air,\nlayer,MgF2,91.4\n",
     0,
     {"stack.csv: found no row with the role 'substrate'; expected"}},
    {"no end at all",
     "role,material,thickness_nm\nlayer,MgF2,91.4\n",
     0,
     {"stack.csv: found no row with the role 'incident'"}},
    {"two incident media",
     "role,material,thickness_nm\nincident,air,\nlayer,MgF2,91.4\nincident,air,\n",
     0,
     {"stack.csv:4: column 1 (role): found 'incident'; expected one row of this role (it is in line 2 already)"}},
    {"two substrates",
     "role,material,thickness_nm\nsubstrate,1.5,\nincident,air,\n\nsubstrate,1.5,\n",
     0,
     {"stack.csv:5: column 1 (role): found 'substrate'; expected one row of this role (it is in line 2 already)"}},
    {"a layer before both ends",
     "role,material,thickness_nm\nlayer,MgF2,91.4\nincident,air,\nsubstrate,517642,\n",
     0,
     {"stack.csv:2: column 1 (role): found 'layer'; expected layers only between the two ends, which are 'incident' in "
      "line "
      "3 and 'substrate' in line 4"}},
    {"a layer behind both ends",
     "role,material,thickness_nm\nsubstrate,517642,\nincident,air,\nlayer,MgF2,91.4\n",
     0,
     {"stack.csv:4: column 1 (role): found 'layer'; expected layers only between the two ends",
      "'substrate' in line 2"}},
    {"an end in the middle",
     "role,material,thickness_nm\nincident,air,\nlayer,MgF2,91.4\nsubstrate,517642,\nlayer,HfO2,10\n",
     0,
     {"stack.csv:5: column 1 (role): found 'layer'; expected layers only between the two ends"}},
    {"an incident medium with a thickness",
     "role,material,thickness_nm\nincident,air,100\nsubstrate,517642,\n",
     0,
     {"stack.csv:2: column 3 (thickness_nm): found '100'; expected an empty cell: the incident medium has no "
      "thickness"}},
    {"a substrate with a thickness",
     "role,material,thickness_nm\nsubstrate,517642,2000000\nincident,air,\n",
     0,
     {"stack.csv:2: column 3 (thickness_nm): found '2000000'; expected an empty cell: the substrate has no thickness"}},
    {"an end with a thickness of zero",
     "role,material,thickness_nm\nincident,air,0\nsubstrate,517642,\n",
     0,
     {"stack.csv:2: column 3 (thickness_nm): found '0'; expected an empty cell"}},
    {"an end with quarter waves",
     "role,material,quarter_waves,at_nm\nincident,air,1,\nsubstrate,517642,,\n",
     0,
     {"stack.csv:2: column 3 (quarter_waves): found '1'; expected an empty cell"}},
    {"unknown role",
     THREE("coat,MgF2,91.4"),
     0,
     {"stack.csv:3: column 1 (role): found 'coat'; expected 'incident', 'layer' or 'substrate'"}},
    {"misspelt role",
     THREE("layre,MgF2,91.4"),
     0,
     {"stack.csv:3: column 1 (role): found 'layre'; expected", "(perhaps 'layer')"}},
    {"role in capitals",
     THREE("LAYER,MgF2,91.4"),
     0,
     {"column 1 (role): found 'LAYER'; expected", "(perhaps 'layer')"}},
    {"no role in a row", THREE(",MgF2,91.4"), 0, {"stack.csv:3: column 1 (role): found ''; expected 'incident'"}},
    {"not a number",
     THREE("layer,MgF2,thin"),
     0,
     {"stack.csv:3: column 3 (thickness_nm): found 'thin' (not a number); expected a thickness in nm"}},
    {"a unit", THREE("layer,MgF2,91.4 nm"), 0, {"column 3 (thickness_nm): found '91.4 nm' (not a number); expected"}},
    {"decimal comma", THREE("layer,1.38,\"91,4\""), 0, {"found '91,4' (the decimal sign is a point); expected"}},
    {"nan", THREE("layer,MgF2,nan"), 0, {"found 'nan' (not a number); expected a thickness in nm above 0"}},
    {"inf", THREE("layer,MgF2,inf"), 0, {"found 'inf' (not a number); expected"}},
    {"overflow", THREE("layer,MgF2,1e400"), 0, {"found '1e400' (too large for a number); expected"}},
    {"zero",
     THREE("layer,MgF2,0"),
     0,
     {"stack.csv:3: column 3 (thickness_nm): found '0'; expected a thickness in nm above 0"}},
    {"negative", THREE("layer,MgF2,-91.4"), 0, {"found '-91.4'; expected a thickness in nm above 0"}},
    {"too thick", THREE("layer,MgF2,1000001"), 0, {"found '1000001'; expected", "at most 1000000 (1 mm) per layer"}},
    {"no thickness given",
     THREE("layer,MgF2,"),
     0,
     {"stack.csv:3: column 3 (thickness_nm): found ''; expected a thickness in nm above 0"}},
    {"both thicknesses",
     SIX("layer,MgF2,100,1,552,"),
     0,
     {"stack.csv:3: column 4 (quarter_waves): found '1'; expected an empty cell, since thickness_nm is '100'"}},
    {"neither thickness",
     SIX("layer,MgF2,,,,"),
     0,
     {"stack.csv:3: column 3 (thickness_nm): found ''; expected a thickness in nm", "or quarter_waves and at_nm"}},
    {"neither, no column for one",
     "role,material,quarter_waves,at_nm\nincident,air,,\nlayer,1.38,,\nsubstrate,1.52,,\n",
     0,
     {"stack.csv:3: column 3 (quarter_waves): found ''; expected"}},
    {"quarter waves without at_nm",
     SIX("layer,MgF2,,1,,"),
     0,
     {"stack.csv:3: column 5 (at_nm): found ''; expected the wavelength in nm"}},
    {"at_nm without quarter waves",
     SIX("layer,MgF2,100,,550,"),
     0,
     {"stack.csv:3: column 5 (at_nm): found '550'; expected an empty cell"}},
    {"quarter waves no number",
     SIX("layer,MgF2,,one,550,"),
     0,
     {"column 4 (quarter_waves): found 'one' (not a number); expected a number of"}},
    {"quarter waves zero",
     SIX("layer,MgF2,,0,550,"),
     0,
     {"column 4 (quarter_waves): found '0'; expected a number of quarter waves above 0"}},
    {"quarter waves negative", SIX("layer,MgF2,,-1,550,"), 0, {"column 4 (quarter_waves): found '-1'; expected"}},
    {"at_nm zero", SIX("layer,MgF2,,1,0,"), 0, {"column 5 (at_nm): found '0'; expected a wavelength in nm"}},
    {"at_nm outside the table",
     SIX("layer,HfO2,,1,610,"),
     0,
     {"stack.csv:3: column 5 (at_nm): table 'HfO2' (", "found wavelength 610 nm", "expected one from 400 to 600 nm"}},
    {"too thick in quarter waves",
     SIX("layer,1.38,,10000,552,"),
     0,
     {"stack.csv:3: column 4 (quarter_waves): found '10000'; expected a layer above 0 and at most 1000000 nm"}},
    {"fixed",
     SIX("layer,MgF2,100,,,maybe"),
     0,
     {"stack.csv:3: column 6 (fixed): found 'maybe'; expected 'yes' or 'no'"}},
    {"fixed in capitals",
     SIX("layer,MgF2,100,,,YES"),
     0,
     {"column 6 (fixed): found 'YES'; expected 'yes' or 'no' (perhaps 'yes')"}},
    {"fixed at an end",
     "role,material,thickness_nm,fixed\nincident,air,,1\nsubstrate,1.52,,\n",
     0,
     {"stack.csv:2: column 4 (fixed): found '1'; expected 'yes' or 'no'"}},
    {"unknown material",
     THREE("layer,mgf2,91.4"),
     0,
     {"stack.csv:3: column 2 (material): found 'mgf2'; expected a material's name (nearest: MgF2"}},
    {"no material",
     THREE("layer,,91.4"),
     0,
     {"stack.csv:3: column 2 (material): found ''; expected a material's name"}},
    {"unknown incident medium",
     "role,material,thickness_nm\nincident,water,\nsubstrate,1.5,\n",
     0,
     {"stack.csv:2: column 2 (material): found 'water'"}},
    {"unknown substrate",
     "role,material,thickness_nm\nincident,air,\nsubstrate,317641,\n",
     0,
     {"stack.csv:3: column 2 (material): found '317641'", "nearest: 517642"}},
    {"a material outside",
     THREE("layer,../MgF2,91.4"),
     0,
     {"column 2 (material): found '../MgF2'; expected", "cannot lead out of the folders"}},
    {"a gaining material",
     THREE("layer,1.5+0.1i,91.4"),
     0,
     {"column 2 (material): found '1.5+0.1i'; expected", "N = n - ik"}},
    {"a long name",
     THREE("layer,N1234567890123456789012345678901234567890123456789012345678901234567890,1"),
     0,
     {"column 2 (material): found 'N123456789012345678901234567890123456789...'; expected", "at most 63 bytes"}},
    {"a terminal's escape",
     THREE("layer,MgF2,\x1B]0;x\x07"),
     0,
     {"column 3 (thickness_nm): found '\\x1B]0;x\\x07' (not a number)"}},
    {"too many cells", THREE("layer,MgF2,91,4"), 0, {"stack.csv:3: found 4 cells; expected 3"}},
    {"too steep a gradient",
     "role,material,thickness_nm,index_gradient_percent\nincident,air,,\nlayer,MgF2,91.4,-50.5\nsubstrate,1.5,,\n",
     0,
     {"stack.csv:3: column 4 (index_gradient_percent): found '-50.5'", "from -50 to 50"}},
    {"a graded substrate",
     "role,material,thickness_nm,index_gradient_percent\nincident,air,,\nlayer,MgF2,91.4,\nsubstrate,1.5,,2\n",
     0,
     {"stack.csv:4: column 4 (index_gradient_percent): found '2'; expected an empty cell: only layers"}},
    {"a quote never closed",
     THREE("layer,\"MgF2,91.4"),
     0,
     {"stack.csv:3: column 2 (material): found a double quote that is never closed"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_stack stack;
    bc_error error = {0};
    write_tables();
    bc_materials *materials = scratch_materials();
    bc_status status = bc_stack_read(scratch_write("stack.csv", bad->bytes), materials, &stack, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert_ptr_null(stack.layer);
    ck_assert_uint_eq(stack.layers, 0);
    bc_materials_free(materials);
}
END_TEST

START_TEST(largest_thickness)
{
    bc_materials *materials = new_materials();
    bc_stack stack;
    read_good("role,material,thickness_nm\nincident,air,\nlayer,1.38,1000000\nsubstrate,1.52,\n", materials, &stack);
    ck_assert(stack.layer[0].thickness_nm == 1e6);
    bc_stack_clear(&stack);
    bc_materials_free(materials);
}
END_TEST

START_TEST(missing_file)
{
    bc_materials *materials = new_materials();
    bc_stack stack;
    bc_error error = {0};
    expect_refusal("missing", bc_stack_read(scratch_path("stack.csv"), materials, &stack, &error), &error,
                   BC_ERROR_INPUT, (const char *[PIECES]){"stack.csv: found no such file; expected a CSV file"});
    expect_refusal("folder", bc_stack_read(scratch_folder(), materials, &stack, &error), &error, BC_ERROR_INPUT,
                   (const char *[PIECES]){": found a folder; expected a CSV file"});
    bc_materials_free(materials);
}
END_TEST

START_TEST(copies)
{
    bc_materials *materials = new_materials();
    bc_stack stack, copy, none;
    ck_assert_int_eq(bc_stack_alloc(3, &stack, NULL), BC_OK);
    ck_assert_uint_eq(stack.layers, 3);
    for (size_t i = 0; i < 3; i++) {
        ck_assert(stack.layer[i].thickness_nm == 0 && !stack.layer[i].fixed);
        ck_assert_int_eq(bc_medium_find(materials, "1.38", NULL, &stack.layer[i].material, NULL), BC_OK);
        stack.layer[i].thickness_nm = (double)i + 1;
    }
    ck_assert_int_eq(bc_medium_find(materials, "air", NULL, &stack.incident, NULL), BC_OK);
    ck_assert_int_eq(bc_medium_find(materials, "1.52", NULL, &stack.substrate, NULL), BC_OK);
    stack.from_substrate = true;
    ck_assert_int_eq(bc_stack_copy(&stack, &copy, NULL), BC_OK);
    stack.layer[0].thickness_nm = 99;
    bc_stack_clear(&stack);
    ck_assert_uint_eq(stack.layers, 0);
    ck_assert(bc_stack_total_nm(&copy) == 6);
    ck_assert_str_eq(copy.substrate.name, "1.52");
    ck_assert_ptr_nonnull(copy.incident.dispersion);
    ck_assert(copy.from_substrate);
    bc_stack_clear(&copy);
    ck_assert_int_eq(bc_stack_copy(&stack, &none, NULL), BC_OK);
    ck_assert_ptr_null(none.layer);
    bc_stack_clear(&none);
    bc_stack_clear(&none);
    bc_materials_free(materials);
}
END_TEST

Suite *stack_suite(void)
{
    Suite *suite = suite_create("stack");
    TCase *tcase = scratch_case("stack");
    tcase_add_test(tcase, same_stack);
    tcase_add_test(tcase, bare_surface);
    tcase_add_test(tcase, quarter_waves);
    tcase_add_test(tcase, index_gradient);
    tcase_add_loop_test(tcase, refused, 0, COUNT(refusals));
    tcase_add_test(tcase, largest_thickness);
    tcase_add_test(tcase, missing_file);
    tcase_add_test(tcase, copies);
    suite_add_tcase(suite, tcase);
    return suite;
}
