/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scratch.h"
#include "suites.h"
#include <bloomcoat/chamber.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define ROW(row)     "key,value\n" row "\n"

static void read_good(const char *path, bc_chamber *chamber)
{
    bc_error error = {0};
    bc_status status = bc_chamber_read(path, chamber, &error);
    ck_assert_msg(status == BC_OK, "%s", error.message);
}

static void expect_unknown(const bc_chamber *chamber)
{
    ck_assert(!chamber->has_load_diameter && !chamber->has_part_pitch_extra && !chamber->has_pump_down);
    ck_assert(!chamber->has_heat && !chamber->has_cool_vent && !chamber->has_between_layers);
    ck_assert(chamber->load_diameter_mm == 0 && chamber->part_pitch_extra_mm == 0 && chamber->pump_down_min == 0);
    ck_assert(chamber->heat_min == 0 && chamber->cool_vent_min == 0 && chamber->between_layers_s == 0);
}

START_TEST(good_file)
{
    bc_chamber chamber;
    read_good(scratch_write("chamber.csv", "# the large one\nkey,value\n"
                                           "between_layers_s,40.5\n"
                                           "load_diameter_mm,640\n"
                                           "\n"
                                           "part_pitch_extra_mm,6\n"
                                           "pump_down_min,70\n"
                                           "heat_min,45\n"
                                           "cool_vent_min,80\n"),
              &chamber);
    ck_assert(chamber.has_load_diameter && chamber.has_part_pitch_extra && chamber.has_pump_down);
    ck_assert(chamber.has_heat && chamber.has_cool_vent && chamber.has_between_layers);
    ck_assert(chamber.load_diameter_mm == 640 && chamber.part_pitch_extra_mm == 6);
    ck_assert(chamber.pump_down_min == 70 && chamber.heat_min == 45 && chamber.cool_vent_min == 80);
    ck_assert(chamber.between_layers_s == 40.5);
}
END_TEST

START_TEST(some_keys)
{
    bc_chamber chamber;
    read_good(scratch_write("chamber.csv", "\xEF\xBB\xBFvalue,key\r\n0,heat_min\r\n"), &chamber);
    ck_assert(chamber.has_heat); /* a zero that is written is known */
    chamber.has_heat = false;
    expect_unknown(&chamber);
}
END_TEST

START_TEST(ends_of_the_ranges)
{
    bc_chamber chamber;
    read_good(scratch_write("chamber.csv",
                            "key,value\nload_diameter_mm,0.001\npart_pitch_extra_mm,-0\npump_down_min,0\n"
                            "heat_min,0\ncool_vent_min,0\nbetween_layers_s,0\n"),
              &chamber);
    ck_assert(chamber.load_diameter_mm == 0.001 && chamber.has_between_layers);
    ck_assert(1 / chamber.part_pitch_extra_mm > 0);
    read_good(scratch_write("chamber.csv", "key,value\nload_diameter_mm,10000\npart_pitch_extra_mm,1e4\n"
                                           "pump_down_min,10000\nheat_min,10000\ncool_vent_min,10000\n"
                                           "between_layers_s,100000\n"),
              &chamber);
    ck_assert(chamber.load_diameter_mm == 1e4 && chamber.part_pitch_extra_mm == 1e4 && chamber.pump_down_min == 1e4);
    ck_assert(chamber.heat_min == 1e4 && chamber.cool_vent_min == 1e4 && chamber.between_layers_s == 1e5);
}
END_TEST

static const refusal refusals[] = {
    {"no value column", "key\nheat_min\n", 0, {"chamber.csv:1: found a header without value; expected", "key,value"}},
    {"no header",
     "load_diameter_mm,640\n",
     0,
     {"chamber.csv:1: column 1: found 'load_diameter_mm', an unknown column; expected one of key, value"}},
    {"an unknown column",
     "key,value,unit\nheat_min,45,min\n",
     0,
     {"chamber.csv:1: column 3: found 'unit', an unknown"}},
    {"no rows", "key,value\n", 0, {"chamber.csv:1: found a header and no rows; expected rows"}},
    {"a third cell", ROW("heat_min,45,min"), 0, {"chamber.csv:2: found 3 cells; expected 2"}},
    {"an unknown key",
     ROW("colour,45"),
     0,
     {"chamber.csv:2: column 1 (key): found 'colour'; expected 'load_diameter_mm', 'part_pitch_extra_mm', "
      "'pump_down_min', 'heat_min', 'cool_vent_min' or 'between_layers_s'"}},
    {"a misspelt key",
     ROW("heat_min,45\npump_dwon_min,70"),
     0,
     {"chamber.csv:3: column 1 (key): found 'pump_dwon_min'; expected", "(perhaps 'pump_down_min')"}},
    {"another unit",
     ROW("heat_h,1"),
     0,
     {"chamber.csv:2: column 1 (key): found 'heat_h'; expected 'load_diameter_mm'"}},
    {"no key", ROW(",45"), 0, {"chamber.csv:2: column 1 (key): found ''; expected 'load_diameter_mm'"}},
    {"a key twice",
     ROW("heat_min,45\npump_down_min,70\n\nheat_min,45"),
     0,
     {"chamber.csv:5: column 1 (key): found 'heat_min'; expected each key once (it is in line 2 already)"}},
    {"a key of value zero twice", ROW("heat_min,0\nheat_min,1"), 0, {"found 'heat_min'; expected each key once"}},
    {"no value",
     ROW("heat_min,"),
     0,
     {"chamber.csv:2: column 2 (value): found '' (not a number); expected a time in minutes from 0 to 10000"}},
    {"a unit behind the value",
     ROW("heat_min,45 min"),
     0,
     {"column 2 (value): found '45 min' (not a number); expected"}},
    {"diameter zero",
     ROW("load_diameter_mm,0"),
     0,
     {"chamber.csv:2: column 2 (value): found '0'; expected a diameter in mm above 0 and at most 10000"}},
    {"diameter too large", ROW("load_diameter_mm,10001"), 0, {"column 2 (value): found '10001'; expected a diameter"}},
    {"pitch negative",
     ROW("part_pitch_extra_mm,-1"),
     0,
     {"chamber.csv:2: column 2 (value): found '-1'; expected a distance in mm from 0 to 10000"}},
    {"pitch too large", ROW("part_pitch_extra_mm,10001"), 0, {"found '10001'; expected a distance in mm"}},
    {"pump negative", ROW("pump_down_min,-1"), 0, {"column 2 (value): found '-1'; expected a time in minutes"}},
    {"pump too long", ROW("pump_down_min,10001"), 0, {"found '10001'; expected a time in minutes"}},
    {"heat negative", ROW("heat_min,-0.1"), 0, {"found '-0.1'; expected a time in minutes from 0"}},
    {"heat infinite", ROW("heat_min,inf"), 0, {"found 'inf' (not a number); expected a time in minutes"}},
    {"heat too long", ROW("heat_min,10001"), 0, {"found '10001'; expected a time in minutes"}},
    {"cool negative", ROW("cool_vent_min,-1"), 0, {"found '-1'; expected a time in minutes"}},
    {"cool too long", ROW("cool_vent_min,10001"), 0, {"found '10001'; expected a time in minutes"}},
    {"between negative",
     ROW("between_layers_s,-1"),
     0,
     {"chamber.csv:2: column 2 (value): found '-1'; expected a time in seconds from 0 to 100000"}},
    {"between too long", ROW("between_layers_s,100001"), 0, {"found '100001'; expected a time in seconds"}},
    {"a bad value behind good ones",
     ROW("load_diameter_mm,640\nheat_min,45\ncool_vent_min,long"),
     0,
     {"chamber.csv:4: column 2 (value): found 'long' (not a number); expected a time in minutes"}},
};

START_TEST(refused)
{
    const refusal *bad = &refusals[_i];
    bc_chamber chamber;
    bc_error error = {0};
    bc_status status = bc_chamber_read(scratch_write("chamber.csv", bad->bytes), &chamber, &error);
    expect_refusal(bad->what, status, &error, BC_ERROR_INPUT, bad->pieces);
    expect_unknown(&chamber);
}
END_TEST

START_TEST(no_file)
{
    static const char *const pieces[PIECES] = {"absent.csv: found"};
    bc_chamber chamber;
    bc_error error = {0};
    bc_status status = bc_chamber_read(scratch_path("absent.csv"), &chamber, &error);
    expect_refusal("no file", status, &error, BC_ERROR_INPUT, pieces);
    expect_unknown(&chamber);
}
END_TEST

/* The sample that ships has every key. */
START_TEST(example)
{
    bc_chamber chamber;
    read_good(BC_SOURCE_DIR "/examples/chamber.csv", &chamber);
    ck_assert(chamber.has_load_diameter && chamber.has_part_pitch_extra && chamber.has_pump_down);
    ck_assert(chamber.has_heat && chamber.has_cool_vent && chamber.has_between_layers);
}
END_TEST

Suite *chamber_suite(void)
{
    Suite *suite = suite_create("chamber");
    TCase *tcase = scratch_case("chamber");
    tcase_add_test(tcase, good_file);
    tcase_add_test(tcase, some_keys);
    tcase_add_test(tcase, ends_of_the_ranges);
    tcase_add_loop_test(tcase, refused, 0, COUNT(refusals));
    tcase_add_test(tcase, no_file);
    tcase_add_test(tcase, example);
    suite_add_tcase(suite, tcase);
    return suite;
}
