/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/process.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define ERRORS       "thickness_sigma_percent,run_thickness_sigma_percent,index_sigma"
#define HEADER       "material,rate_nm_per_s,tooling_factor," ERRORS ",minimum_nm"
#define ROW(row)     HEADER "\n" row "\n"

static void write_tables(void)
{
    scratch_write("MgF2.csv", "wavelength_nm,n\n400,1.39\n1200,1.37\n");
    scratch_write("HfO2.csv", "wavelength_nm,n\n400,1.95\n1200,1.85\n");
}

static void read_good(const char *text, bc_process *process)
{
    bc_error error = {0};
    write_tables();
    bc_materials *materials = scratch_materials();
    bc_status status = bc_process_read(scratch_write("process.csv", text), materials, process, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    bc_materials_free(materials);
}

static void expect_unknown(const bc_process_row *row)
{
    ck_assert(!row->has_rate && !row->has_tooling && !row->has_thickness_sigma);
    ck_assert(!row->has_run_thickness_sigma && !row->has_index_sigma && !row->has_minimum);
    ck_assert(row->rate_nm_per_s == 0 && row->tooling == 1 && row->thickness_sigma == 0);
    ck_assert(row->run_thickness_sigma == 0 && row->index_sigma == 0 && row->minimum_nm == 0);
}

START_TEST(good_file)
{
    bc_process process;
    read_good("# the shop\n" HEADER "\n"
              "*,0.4,1.02,2,0.7,0.01,8\n"
              "\n"
              "MgF2,0.6,0.98,1.5,-0.5,0.005,6\n",
              &process);
    const bc_process_row *row = process.row;
    ck_assert_uint_eq(process.rows, 2);
    ck_assert(process.has_rate && process.has_tooling && process.has_thickness_sigma);
    ck_assert(process.has_run_thickness_sigma && process.has_index_sigma && process.has_minimum);
    ck_assert_str_eq(row[0].material, "*");
    ck_assert(row[0].rate_nm_per_s == 0.4 && row[0].tooling == 1.02 && row[0].thickness_sigma == 0.02);
    ck_assert(row[0].run_thickness_sigma == 0.007 && row[0].index_sigma == 0.01 && row[0].minimum_nm == 8);
    ck_assert_int_eq(row[0].line, 3);
    ck_assert_str_eq(row[1].material, "MgF2");
    ck_assert(row[1].rate_nm_per_s == 0.6 && row[1].tooling == 0.98 && row[1].thickness_sigma == 0.015);
    ck_assert(row[1].run_thickness_sigma == -0.005 && row[1].index_sigma == 0.005 && row[1].minimum_nm == 6);
    ck_assert_int_eq(row[1].line, 5);
    ck_assert(row[1].has_rate && row[1].has_tooling && row[1].has_thickness_sigma);
    ck_assert(row[1].has_run_thickness_sigma && row[1].has_index_sigma && row[1].has_minimum);
    bc_process_clear(&process);
    ck_assert_uint_eq(process.rows, 0);
    ck_assert_ptr_null(process.row);
    ck_assert(!process.has_rate);
}
END_TEST

/* A layer is graded as its material's row says, unless it states a gradient itself. */
START_TEST(index_gradient)
{
    bc_materials *materials = new_materials();
    const bc_dispersion *layer, *other;
    bc_process process;
    bc_error error = {0};
    read_good("material,index_gradient_percent\n1.38,-2.5\n*,1\n2.1,0\n", &process);
    ck_assert(process.has_index_gradient && process.row[0].index_gradient == -0.025);
    ck_assert(bc_materials_find(materials, "1.38", NULL, &layer, &error) == BC_OK);
    ck_assert(bc_process_grade(&process, materials, &layer, &error) == BC_OK);
    ck_assert(bc_dispersion_gradient(layer) == -0.025);
    ck_assert(bc_materials_find(materials, "1.46", NULL, &other, &error) == BC_OK);
    ck_assert(bc_process_grade(&process, materials, &other, &error) == BC_OK);
    ck_assert(bc_dispersion_gradient(other) == 0.01);
    ck_assert(bc_materials_find(materials, "2.1", NULL, &other, &error) == BC_OK);
    ck_assert(bc_process_grade(&process, materials, &other, &error) == BC_OK);
    ck_assert(bc_dispersion_gradient(other) == 0.0);
    ck_assert(bc_materials_graded(materials, layer, 0.0, &other, &error) == BC_OK);
    ck_assert(bc_process_grade(&process, materials, &other, &error) == BC_OK);
    ck_assert(bc_dispersion_gradient(other) == 0.0);
    bc_process_clear(&process);
    bc_materials_free(materials);
}
END_TEST

/* Own value, else that of `*`, else not known; wherever the row `*` stands. */
START_TEST(merged)
{
    bc_process process;
    read_good(HEADER "\n"
                     "MgF2,0.6,,0,,,6\n"
                     "*,0.4,1.02,2,,0.01,\n"
                     "HfO2,,,,,,\n",
              &process);
    ck_assert(!process.row[0].has_tooling && process.row[0].tooling == 1);
    bc_process_row own = bc_process_for(&process, "MgF2");
    ck_assert_str_eq(own.material, "MgF2");
    ck_assert_int_eq(own.line, 2);
    ck_assert(own.has_rate && own.rate_nm_per_s == 0.6);
    ck_assert(own.has_tooling && own.tooling == 1.02);
    ck_assert(own.has_thickness_sigma && own.thickness_sigma == 0); /* a zero that is written is no empty cell */
    ck_assert(!own.has_run_thickness_sigma && own.run_thickness_sigma == 0);
    ck_assert(own.has_index_sigma && own.index_sigma == 0.01);
    ck_assert(own.has_minimum && own.minimum_nm == 6);
    static const char *const others[] = {"HfO2", "Ta2O5", "*"};
    static const long line[] = {4, 3, 3};
    for (size_t i = 0; i < COUNT(others); i++) {
        bc_process_row other = bc_process_for(&process, others[i]);
        ck_assert_str_eq(other.material, others[i]);
        ck_assert_int_eq(other.line, line[i]);
        ck_assert(other.has_rate && other.rate_nm_per_s == 0.4 && other.has_tooling && other.tooling == 1.02);
        ck_assert(other.has_thickness_sigma && other.thickness_sigma == 0.02);
        ck_assert(!other.has_run_thickness_sigma && other.has_index_sigma && other.index_sigma == 0.01);
        ck_assert(!other.has_minimum && other.minimum_nm == 0);
    }
    /* MgF2 alone gives a minimum; nobody gives a bias, though its column is there. */
    ck_assert(process.has_minimum && !process.has_run_thickness_sigma);
    bc_process_clear(&process);
}
END_TEST

START_TEST(without_the_others)
{
    bc_process process;
    read_good("\xEF\xBB\xBFminimum_nm,material,rate_nm_per_s\r\n,MgF2,\"0.6\"\r\n12,1.46,\r\n", &process);
    ck_assert(process.has_rate && process.has_minimum);
    ck_assert(!process.has_tooling && !process.has_thickness_sigma && !process.has_run_thickness_sigma);
    ck_assert(!process.has_index_sigma);
    bc_process_row row = bc_process_for(&process, "MgF2");
    ck_assert(row.has_rate && row.rate_nm_per_s == 0.6 && !row.has_minimum && !row.has_tooling && row.tooling == 1);
    row = bc_process_for(&process, "1.46");
    ck_assert(!row.has_rate && row.rate_nm_per_s == 0 && row.has_minimum && row.minimum_nm == 12);
    row = bc_process_for(&process, "HfO2");
    ck_assert_str_eq(row.material, "HfO2");
    ck_assert_int_eq(row.line, 0);
    expect_unknown(&row);
    bc_process_clear(&process);
}
END_TEST

START_TEST(nothing_known)
{
    bc_process process;
    bc_process empty = {0};
    bc_process_row row = bc_process_for(NULL, "MgF2");
    ck_assert_str_eq(row.material, "MgF2");
    expect_unknown(&row);
    row = bc_process_for(&empty, "MgF2");
    expect_unknown(&row);
    read_good("material\n*\nMgF2\n", &process);
    ck_assert_uint_eq(process.rows, 2);
    ck_assert(!process.has_rate && !process.has_tooling && !process.has_thickness_sigma);
    ck_assert(!process.has_run_thickness_sigma && !process.has_index_sigma && !process.has_minimum);
    row = bc_process_for(&process, "MgF2");
    ck_assert_int_eq(row.line, 3);
    expect_unknown(&row);
    bc_process_clear(&process);
}
END_TEST

static void expect_runs(const bc_process *process, const char *material, bc_process_runs expected)
{
    const bc_process_runs runs = bc_process_for(process, material).runs;
    ck_assert_msg(runs.counted == expected.counted && runs.tooling == expected.tooling &&
                      runs.thickness_sigma == expected.thickness_sigma &&
                      runs.run_thickness_sigma == expected.run_thickness_sigma &&
                      runs.index_sigma == expected.index_sigma,
                  "%s: %g %g %g %g %g", material, runs.counted, runs.tooling, runs.thickness_sigma,
                  runs.run_thickness_sigma, runs.index_sigma);
}

/* `runs` is for every figure of the row that says no other; a figure comes with the runs of the row it comes from. */
START_TEST(runs_behind_the_figures)
{
    bc_process process;
    read_good("material,tooling_factor,thickness_sigma_percent,run_thickness_sigma_percent,index_sigma,runs,"
              "thickness_sigma_runs,index_sigma_runs\n"
              "*,1,2,0.7,0.01,30,61.5,\n"
              "MgF2,1.02,1.5,,,6,,\n"
              "HfO2,,1,,0.02,,,8\n",
              &process);
    expect_runs(&process, "SiO2", (bc_process_runs){30, 30, 61.5, 30, 30});
    expect_runs(&process, "MgF2", (bc_process_runs){6, 6, 6, 30, 30});
    expect_runs(&process, "HfO2", (bc_process_runs){30, 30, 0, 30, 8});
    bc_process_clear(&process);
    read_good("material,thickness_sigma_percent\n*,1\n", &process);
    expect_runs(&process, "MgF2", (bc_process_runs){0});
    bc_process_clear(&process);
}
END_TEST

/* Rows filled in by hand are zero where nothing is said, and neutral all the same once asked for. */
START_TEST(made_by_hand)
{
    char name[BC_NAME_SIZE + 2] = "";
    bc_process_row rows[2] = {{.material = "*", .has_minimum = true, .minimum_nm = 5},
                              {.material = "MgF2", .has_rate = true, .rate_nm_per_s = 2}};
    const bc_process process = {.rows = 2, .row = rows};
    bc_process_row row = bc_process_for(&process, "MgF2");
    ck_assert(row.tooling == 1 && !row.has_tooling && row.minimum_nm == 5 && row.rate_nm_per_s == 2);
    memset(name, 'x', sizeof name - 1);
    row = bc_process_for(&process, name);
    ck_assert_uint_eq(strlen(row.material), BC_NAME_SIZE - 1);
    ck_assert(row.minimum_nm == 5);
}
END_TEST

START_TEST(ends_of_the_ranges)
{
    bc_process process;
    read_good(HEADER "\n"
                     "MgF2,1e6,100,100,50,1,1e6\n"
                     "HfO2,1e-9,0.0101,0,-50,0,0\n"
                     "*,,,-0,-0,-0,-0\n",
              &process);
    const bc_process_row *row = process.row;
    ck_assert(row[0].rate_nm_per_s == 1e6 && row[0].tooling == 100 && row[0].thickness_sigma == 1);
    ck_assert(row[0].run_thickness_sigma == 0.5 && row[0].index_sigma == 1 && row[0].minimum_nm == 1e6);
    ck_assert(row[1].rate_nm_per_s == 1e-9 && row[1].tooling == 0.0101 && row[1].thickness_sigma == 0);
    ck_assert(row[1].run_thickness_sigma == -0.5 && row[1].index_sigma == 0 && row[1].minimum_nm == 0);
    ck_assert(row[2].has_thickness_sigma && 1 / row[2].thickness_sigma > 0 && 1 / row[2].minimum_nm > 0);
    bc_process_clear(&process);
}
END_TEST

static const refusal refusals[] = {
    {"no material column",
     "rate_nm_per_s,tooling_factor\n0.4,1\n",
     0,
     {"process.csv:1: found a header without material; expected a header such as "
      "material,rate_nm_per_s,tooling_factor"}},
    {"a misspelt column",
     "material,thickness_sigma\nMgF2,1\n",
     0,
     {"process.csv:1: column 2: found 'thickness_sigma', an unknown column; expected"}},
    {"a column nearly right",
     "material,minimun_nm\nMgF2,1\n",
     0,
     {"process.csv:1: column 2: found 'minimun_nm', an unknown column; expected 'minimum_nm' perhaps"}},
    {"a column twice",
     "material,tooling_factor,tooling_factor\nMgF2,1,1\n",
     0,
     {"process.csv:1: column 3: found 'tooling_factor' again"}},
    {"no rows", HEADER "\n", 0, {"process.csv:1: found a header and no rows; expected rows"}},
    {"too few cells", ROW("MgF2,0.4,1"), 0, {"process.csv:2: found 3 cells; expected 7"}},
    {"no material",
     ROW(",0.4,1,1,1,0.01,8"),
     0,
     {"process.csv:2: column 1 (material): found ''; expected a material's name, or '*' for all others"}},
    {"a misspelt material",
     ROW("*,0.4,1,1,1,0.01,8\nMgF3,0.4,1,1,1,0.01,8"),
     0,
     {"process.csv:3: column 1 (material): found 'MgF3'; expected a material's name (nearest: MgF2"}},
    {"a material outside",
     ROW("../MgF2,0.4,1,1,1,0.01,8"),
     0,
     {"process.csv:2: column 1 (material): found '../MgF2'; expected"}},
    {"two stars", ROW("**,0.4,1,1,1,0.01,8"), 0, {"process.csv:2: column 1 (material): found '**'; expected"}},
    {"a material twice",
     ROW("MgF2,0.4,1,1,1,0.01,8\n*,,,,,,8\n\nMgF2,0.5,,,,,"),
     0,
     {"process.csv:5: column 1 (material): found 'MgF2'; expected one row for each material (it is in line 2 "
      "already)"}},
    {"all others twice",
     ROW("*,0.4,1,1,1,0.01,8\nMgF2,,,,,,8\n*,,,,,,9"),
     0,
     {"process.csv:4: column 1 (material): found '*'; expected one row for all others (it is in line 2 already)"}},
    {"rate zero",
     ROW("MgF2,0,1,1,1,0.01,8"),
     0,
     {"process.csv:2: column 2 (rate_nm_per_s): found '0'; expected a rate in nm per second above 0"}},
    {"rate negative", ROW("MgF2,-0.4,1,1,1,0.01,8"), 0, {"column 2 (rate_nm_per_s): found '-0.4'; expected a rate"}},
    {"rate too large", ROW("MgF2,1000001,1,1,1,0.01,8"), 0, {"column 2 (rate_nm_per_s): found '1000001'; expected"}},
    {"rate no number",
     ROW("*,fast,1,1,1,0.01,8"),
     0,
     {"process.csv:2: column 2 (rate_nm_per_s): found 'fast' (not a number); expected a rate"}},
    {"rate infinite", ROW("*,inf,1,1,1,0.01,8"), 0, {"column 2 (rate_nm_per_s): found 'inf' (not a number); expected"}},
    {"a decimal comma",
     ROW("*,\"0,4\",1,1,1,0.01,8"),
     0,
     {"column 2 (rate_nm_per_s): found '0,4' (the decimal sign is a point); expected"}},
    {"tooling at its end",
     ROW("MgF2,0.4,0.01,1,1,0.01,8"),
     0,
     {"process.csv:2: column 3 (tooling_factor): found '0.01'; expected thickness on the part divided by thickness at "
      "the "
      "monitor, above 0.01 and at most 100"}},
    {"tooling in percent",
     ROW("MgF2,0.4,102,1,1,0.01,8"),
     0,
     {"column 3 (tooling_factor): found '102'; expected", "(1 when"}},
    {"tooling nan",
     ROW("MgF2,0.4,nan,1,1,0.01,8"),
     0,
     {"column 3 (tooling_factor): found 'nan' (not a number); expected"}},
    {"sigma negative",
     ROW("MgF2,0.4,1,-1,1,0.01,8"),
     0,
     {"process.csv:2: column 4 (thickness_sigma_percent): found '-1'; expected the standard deviation of one layer's "
      "thickness in percent, from 0 to 100"}},
    {"sigma too large", ROW("MgF2,0.4,1,100.1,1,0.01,8"), 0, {"(thickness_sigma_percent): found '100.1'; expected"}},
    {"a percent sign",
     ROW("MgF2,0.4,1,1.5%,1,0.01,8"),
     0,
     {"column 4 (thickness_sigma_percent): found '1.5%' (not a number); expected"}},
    {"bias too large",
     ROW("MgF2,0.4,1,1,50.5,0.01,8"),
     0,
     {"process.csv:2: column 5 (run_thickness_sigma_percent): found '50.5'; expected the standard deviation in percent "
      "of "
      "the thickness error that all layers of a run share, from -50 to 50"}},
    {"bias too low", ROW("MgF2,0.4,1,1,-51,0.01,8"), 0, {"(run_thickness_sigma_percent): found '-51'; expected"}},
    {"index negative",
     ROW("MgF2,0.4,1,1,1,-0.01,8"),
     0,
     {"process.csv:2: column 6 (index_sigma): found '-0.01'; expected the standard deviation of the material's index "
      "n, from 0 to 1"}},
    {"index too large", ROW("MgF2,0.4,1,1,1,1.38,8"), 0, {"column 6 (index_sigma): found '1.38'; expected"}},
    {"minimum negative",
     ROW("MgF2,0.4,1,1,1,0.01,-8"),
     0,
     {"process.csv:2: column 7 (minimum_nm): found '-8'; expected the thinnest layer the chamber can control in nm, "
      "from 0 to 1000000"}},
    {"minimum too large", ROW("MgF2,0.4,1,1,1,0.01,1000001"), 0, {"column 7 (minimum_nm): found '1000001'; expected"}},
    {"one run",
     "material,thickness_sigma_percent,runs\nMgF2,1,1\n",
     0,
     {"process.csv:2: column 3 (runs): found '1'; expected the number of runs it was learned from, from 2 to 1000000"}},
    {"no runs of a figure",
     "material,thickness_sigma_percent,thickness_sigma_runs\nMgF2,1,0\n",
     0,
     {"column 3 (thickness_sigma_runs): found '0'; expected the number of runs"}},
    {"columns in another order",
     "tooling_factor,material\nmuch,MgF2\n",
     0,
     {"process.csv:2: column 1 (tooling_factor): found 'much' (not a number); expected"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_process process;
    bc_error error = {0};
    write_tables();
    bc_materials *materials = scratch_materials();
    bc_status status = bc_process_read(scratch_write("process.csv", bad->bytes), materials, &process, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    ck_assert_uint_eq(process.rows, 0);
    ck_assert_ptr_null(process.row);
    ck_assert(!process.has_rate && !process.has_minimum);
    bc_materials_free(materials);
}
END_TEST

START_TEST(no_file)
{
    static const char *const pieces[PIECES] = {"absent.csv: found"};
    bc_process process;
    bc_error error = {0};
    bc_materials *materials = scratch_materials();
    bc_status status = bc_process_read(scratch_path("absent.csv"), materials, &process, &error);
    expect_refusal("no file", status, &error, BC_ERROR_INPUT, pieces);
    ck_assert_ptr_null(process.row);
    bc_materials_free(materials);
}
END_TEST

/* The sample that ships: every layer of the demo has every value. */
START_TEST(example)
{
    static const char *const layers[] = {"MgF2", "SiO2", "Al2O3", "HfO2", "Ta2O5", "Nb2O5"};
    bc_process process;
    bc_error error = {0};
    bc_materials *materials = new_materials();
    ck_assert_int_eq(bc_materials_add_folder(materials, BC_SOURCE_DIR "/materials", NULL), BC_OK);
    bc_status status = bc_process_read(BC_SOURCE_DIR "/examples/process.csv", materials, &process, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
    ck_assert_uint_eq(process.rows, COUNT(layers)); /* Nb2O5 has none of its own, `*` has one */
    for (size_t i = 0; i < COUNT(layers); i++) {
        bc_process_row row = bc_process_for(&process, layers[i]);
        ck_assert(row.has_rate && row.has_tooling && row.has_thickness_sigma);
        ck_assert(row.has_run_thickness_sigma && row.has_index_sigma && row.has_minimum);
        ck_assert(row.rate_nm_per_s >= 0.2 && row.rate_nm_per_s <= 1 && row.tooling > 0.9 && row.tooling < 1.1);
        ck_assert(row.thickness_sigma >= 0.01 && row.thickness_sigma <= 0.02 && row.run_thickness_sigma == 0.007);
        ck_assert(row.index_sigma >= 0.005 && row.index_sigma <= 0.01 && row.minimum_nm == 8);
    }
    bc_process_clear(&process);
    bc_materials_free(materials);
}
END_TEST

Suite *process_suite(void)
{
    Suite *suite = suite_create("process");
    TCase *tcase = scratch_case("process");
    tcase_add_test(tcase, good_file);
    tcase_add_test(tcase, merged);
    tcase_add_test(tcase, index_gradient);
    tcase_add_test(tcase, without_the_others);
    tcase_add_test(tcase, nothing_known);
    tcase_add_test(tcase, runs_behind_the_figures);
    tcase_add_test(tcase, made_by_hand);
    tcase_add_test(tcase, ends_of_the_ranges);
    tcase_add_loop_test(tcase, refused, 0, COUNT(refusals));
    tcase_add_test(tcase, no_file);
    tcase_add_test(tcase, example);
    suite_add_tcase(suite, tcase);
    return suite;
}
