/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define PAGE BC_SOURCE_DIR "/src/THEORY.md"

/* The worked example's data, which the page states in words. */
#define WAVELENGTH_NM 550.0
#define LAYER_NM      99.75
#define LAYER_N       1.3785057
#define GLASS_N       1.5185224

enum { NORMAL, S, P, COLUMNS };

/* What the page says in a row of its table; the place of the last digit of each. */
static void row_of(const char *page, const char *step, double value[COLUMNS], double last_digit[COLUMNS])
{
    char start[WORD_SIZE];
    const char *at;
    snprintf(start, sizeof start, "\n| %s |", step);
    at = strstr(page, start);
    ck_assert_msg(at != NULL, "no row '%s'", step);
    at += strlen(start);
    for (int i = 0; i < COLUMNS; i++) {
        char *end;
        const char *dot;
        value[i] = strtod(at, &end);
        dot = memchr(at, '.', (size_t)(end - at));
        last_digit[i] = dot == NULL ? 1.0 : pow(10.0, -(double)(end - dot - 1));
        at = strchr(end, '|') + 1;
    }
}

static void expect_row(const char *page, const char *step, const double worked_out[COLUMNS])
{
    double value[COLUMNS], last_digit[COLUMNS];
    row_of(page, step, value, last_digit);
    for (int i = 0; i < COLUMNS; i++)
        ck_assert_msg(fabs(value[i] - worked_out[i]) <= 0.5000001 * last_digit[i],
                      "%s, column %d: %.10g there, %.10g worked out", step, i + 1, value[i], worked_out[i]);
}

/* Sections 2 to 4 of the page, step by step, in its own words and nothing of the engine. */
static double work_out(const char *page, double R_percent[COLUMNS])
{
    enum { BETA, Q0, Q1, QS, ETA0, ETA1, ETAS, DELTA, RE_B, IM_B, RE_C, IM_C, RE_RHO, IM_RHO, R, T, SLOPE, STEPS };
    static const char *const step[STEPS] = {"beta",   "q0",     "q1",   "qs",   "eta0",           "eta1",
                                            "etas",   "delta",  "Re B", "Im B", "Re C",           "Im C",
                                            "Re rho", "Im rho", "R, %", "T, %", "dR/dd, % per nm"};
    double out[STEPS][COLUMNS];
    for (int i = 0; i < COLUMNS; i++) {
        const double beta = i == NORMAL ? 0.0 : 0.5; /* sin 30 degrees, from air */
        const double n[3] = {1.0, LAYER_N, GLASS_N};
        double q[3], eta[3];
        for (int m = 0; m < 3; m++) {
            q[m] = sqrt(n[m] * n[m] - beta * beta);
            eta[m] = i == P ? n[m] * n[m] / q[m] : q[m];
            out[Q0 + m][i] = q[m];
            out[ETA0 + m][i] = eta[m];
        }
        const double wave_number = 2.0 * M_PI / WAVELENGTH_NM, delta = wave_number * q[1] * LAYER_NM;
        const double complex B = cos(delta) + I * sin(delta) / eta[1] * eta[2];
        const double complex C = I * eta[1] * sin(delta) + cos(delta) * eta[2];
        const double complex below = eta[0] * B + C, rho = (eta[0] * B - C) / below;
        const double complex slope = 2.0 * I * eta[0] * (C * C / eta[1] - eta[1] * B * B) / (below * below);
        const double values[] = {delta, creal(B), cimag(B), creal(C), cimag(C), creal(rho), cimag(rho)};
        out[BETA][i] = beta;
        for (int k = 0; k < 7; k++)
            out[DELTA + k][i] = values[k];
        out[R][i] = 100.0 * creal(rho * conj(rho));
        out[T][i] = 100.0 * 4.0 * eta[0] * eta[2] / creal(below * conj(below));
        out[SLOPE][i] = 100.0 * 2.0 * creal(conj(rho) * wave_number * q[1] * slope);
        R_percent[i] = out[R][i];
    }
    for (int k = 0; k < STEPS; k++)
        expect_row(page, step[k], out[k]);
    return out[SLOPE][S];
}

/* R in percent that the program finds: normal, s and p at 30 degrees; with a layer of this thickness. */
static void ask(double layer_nm, const char *options, double R_percent[COLUMNS])
{
    char stack[200], line[200];
    snprintf(stack, sizeof stack, "role,material,thickness_nm\nincident,air,\nlayer,MgF2,%.10g\nsubstrate,517642,\n",
             layer_nm);
    scratch_write("quarter.csv", stack);
    snprintf(line, sizeof line, "spectrum quarter.csv --from 550 --to 550 --json %s", options);
    cJSON *root = parse(expect(0, NULL, line).out);
    const cJSON *curves = array_of(root, "curves"), *curve;
    int count = 0;
    cJSON_ArrayForEach(curve, curves)
    {
        ck_assert_int_lt(count, 4);
        /* s and p at normal incidence are the same */
        R_percent[count < 2 ? NORMAL : count - 1] = cJSON_GetArrayItem(array_of(curve, "R_percent"), 0)->valuedouble;
        count++;
    }
    cJSON_Delete(root);
}

START_TEST(the_worked_example_is_right)
{
    char *page = read_file(PAGE);
    double by_hand[COLUMNS], found[COLUMNS], more[COLUMNS], less[COLUMNS];
    const double slope = work_out(page, by_hand);
    ask(LAYER_NM, "--aoi 0,30 --polarization each", found);
    for (int i = 0; i < COLUMNS; i++)
        ck_assert_double_eq_tol(found[i], by_hand[i], 1e-6); /* n1 and ns have eight digits */
    ask(LAYER_NM + 0.01, "--aoi 0,30 --polarization each", more);
    ask(LAYER_NM - 0.01, "--aoi 0,30 --polarization each", less);
    ck_assert_double_eq_tol((more[S] - less[S]) / 0.02, slope, 1e-6);
    free(page);
}
END_TEST

START_TEST(the_worked_plate_is_right)
{
    char *page = read_file(PAGE);
    const char *at = strstr(page, "The whole plate");
    double front, same, through, back, R, by_hand[COLUMNS], found[COLUMNS];
    ck_assert_ptr_nonnull(at);
    ck_assert_int_eq(sscanf(strstr(at, "R1 ="), "R1 = R1' = %lf, T1 = %lf, R2 = %lf, x = 1, so R = %lf", &front,
                            &through, &back, &R),
                     4);
    work_out(page, by_hand);
    same = by_hand[NORMAL] / 100.0;
    ck_assert_double_eq_tol(front, same, 0.51e-7);
    ck_assert_double_eq_tol(through, 1.0 - same, 0.51e-7);
    ck_assert_double_eq_tol(back, pow((GLASS_N - 1.0) / (GLASS_N + 1.0), 2.0), 0.51e-7);
    ask(LAYER_NM, "--back uncoated", found);
    ck_assert_double_eq_tol(found[NORMAL], R, 0.51e-7);
    ck_assert_double_eq_tol(100.0 * (front + through * through * back / (1.0 - front * back)), R, 2e-5);
    free(page);
}
END_TEST

static bool is_file_here(const char *name)
{
    static const char *const rooms[] = {"src/", "tests/", "include/", "examples/", "materials/"};
    for (size_t r = 0; r < sizeof rooms / sizeof rooms[0]; r++)
        if (strncmp(name, rooms[r], strlen(rooms[r])) == 0)
            return true;
    return false;
}

/* A function or macro of ours. */
static bool is_name_here(const char *name)
{
    return strncmp(name, "bc_", 3) == 0 || strncmp(name, "cli_", 4) == 0 || strncmp(name, "CLI_", 4) == 0 ||
           strncmp(name, "BC_MOST", 7) == 0;
}

/* One word between backticks: what it names is there. */
static void check_name(const char *guide, const char *name)
{
    char path[PATH_SIZE], line[2 * PATH_SIZE];
    const char *complaint;
    /* patterns; and the command that the guide invents */
    if (strpbrk(name, " *<>$,:") != NULL || strstr(name, "NAME") != NULL || strstr(name, "COMMAND") != NULL ||
        strstr(name, "anneal") != NULL)
        return;
    snprintf(path, sizeof path, BC_SOURCE_DIR "/%s", name);
    if (is_file_here(name))
        ck_assert_msg(access(path, F_OK) == 0, "%s names %s, which is not there", guide, name);
    if (!is_name_here(name))
        return;
    snprintf(line, sizeof line, "grep -rqw '%.*s' " BC_SOURCE_DIR "/src " BC_SOURCE_DIR "/include --include='*.[ch]'",
             (int)strcspn(name, "().="), name);
    ck_assert_msg(shell(line, &complaint) == 0, "%s names %s, which no file has", guide, name);
}

START_TEST(what_the_guides_name_is_there)
{
    static const char *const guides[] = {"README.md",
                                         "DEVELOPERS.md",
                                         "materials/README.md",
                                         "examples/README.md",
                                         "src/THEORY.md",
                                         "src/cli/README.md",
                                         "src/design/README.md",
                                         "src/inspect/README.md",
                                         "src/package/README.md",
                                         "src/report/README.md",
                                         "src/shop/README.md",
                                         "src/tables/README.md",
                                         "tests/README.md"};
    size_t names = 0;
    for (size_t g = 0; g < sizeof guides / sizeof guides[0]; g++) {
        char path[PATH_SIZE];
        snprintf(path, sizeof path, BC_SOURCE_DIR "/%s", guides[g]);
        char *text = read_file(path);
        for (const char *at = text; (at = strchr(at, '`')) != NULL; names++) {
            const size_t length = strcspn(at + 1, "`\n");
            char name[LINE_LENGTH];
            snprintf(name, sizeof name, "%.*s", (int)length, at + 1);
            at += length + 1 + (at[length + 1] == '`');
            check_name(guides[g], name);
        }
        free(text);
    }
    ck_assert_uint_gt(names, 100);
}
END_TEST

Suite *theory_suite(void)
{
    Suite *suite = suite_create("theory");
    TCase *tcase = scratch_case("all");
    tcase_add_test(tcase, the_worked_example_is_right);
    tcase_add_test(tcase, the_worked_plate_is_right);
    tcase_add_test(tcase, what_the_guides_name_is_there);
    suite_add_tcase(suite, tcase);
    return suite;
}
