/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The tables in materials/: what the script makes from the coefficients, and true to their published formulas once read
 * back and interpolated. The formulas are evaluated here on their own; nothing is taken from the script.
 */
#include "suites.h"
#include <bloomcoat/dispersion.h>
#include <math.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#define FOLDER       BC_SOURCE_DIR "/materials"
#define COEFFICIENTS FOLDER "/coefficients.csv"

#define HEADER                                                                                                         \
    "name,kind,formula,coefficients,from_um,to_um,k_formula,k_coefficients,k_from_um,k_to_um,k_note,check_um,"         \
    "check_n,source,doi,note,caution,process_c,density_g_cm3\n"

enum { MAX_RECIPES = 64, MAX_NUMBERS = 256, LINE_SIZE = 8192, PATH_SIZE = 1024, SAMPLES = 5000 };

/* The columns of coefficients.csv that are needed here, by their place in HEADER. */
enum { NAME, FORMULA = 2, NUMBERS, FROM_UM, TO_UM, K_FORMULA, K_NUMBERS, K_FROM_UM, K_TO_UM, CHECK_UM = 11, CHECK_N };
enum { FIELDS = 19 };

typedef struct recipe {
    char name[BC_NAME_SIZE];
    char formula[24];
    char k_formula[24];
    size_t numbers;
    double number[MAX_NUMBERS];
    size_t k_numbers;
    double k_number[MAX_NUMBERS];
    double from_nm, to_nm;
    double k_from_nm, k_to_nm; /* 0 and 0 where k is zero everywhere */
    double check_nm, check_n;
} recipe;

typedef struct recipes {
    size_t count;
    recipe recipe[MAX_RECIPES];
} recipes;

/* ---- reading coefficients.csv */

/* Cut `line` into its fields in place; quotes may enclose commas. */
static void split_fields(char *line, char *field[FIELDS])
{
    size_t count = 1;
    bool quoted = false;
    char *write = field[0] = line;
    for (const char *read = line; *read != '\0' && *read != '\n'; read++) {
        if (*read == '"') {
            quoted = !quoted;
        } else if (*read == ',' && !quoted) {
            ck_assert_uint_lt(count, FIELDS);
            *write++ = '\0';
            field[count++] = write;
        } else {
            *write++ = *read;
        }
    }
    *write = '\0';
    ck_assert_uint_eq(count, FIELDS);
}

static size_t read_numbers(const char *text, double number[MAX_NUMBERS])
{
    size_t count = 0;
    char *end = NULL;
    double value = strtod(text, &end);
    while (end != text) {
        ck_assert_uint_lt(count, MAX_NUMBERS);
        number[count++] = value;
        text = end;
        value = strtod(text, &end);
    }
    ck_assert_str_eq(text, "");
    return count;
}

/* um with at most six decimals to the nm a table would write. */
static double nm_from_um(const char *um)
{
    return round(strtod(um, NULL) * 1e6) / 1e3;
}

static recipe recipe_from(char *const field[FIELDS])
{
    recipe made = {0};
    snprintf(made.name, sizeof made.name, "%s", field[NAME]);
    snprintf(made.formula, sizeof made.formula, "%s", field[FORMULA]);
    snprintf(made.k_formula, sizeof made.k_formula, "%s", field[K_FORMULA]);
    made.numbers = read_numbers(field[NUMBERS], made.number);
    made.k_numbers = read_numbers(field[K_NUMBERS], made.k_number);
    made.from_nm = nm_from_um(field[FROM_UM]);
    made.to_nm = nm_from_um(field[TO_UM]);
    made.k_from_nm = nm_from_um(field[K_FROM_UM]);
    made.k_to_nm = nm_from_um(field[K_TO_UM]);
    made.check_nm = nm_from_um(field[CHECK_UM]);
    made.check_n = strtod(field[CHECK_N], NULL);
    return made;
}

static recipes *read_recipes(void)
{
    recipes *all = calloc(1, sizeof *all);
    FILE *file = fopen(COEFFICIENTS, "r");
    ck_assert(all != NULL && file != NULL);
    char line[LINE_SIZE];
    bool in_rows = false;
    while (fgets(line, sizeof line, file) != NULL) {
        if (in_rows) {
            char *field[FIELDS];
            split_fields(line, field);
            ck_assert_uint_lt(all->count, MAX_RECIPES);
            all->recipe[all->count++] = recipe_from(field);
        } else if (line[0] != '#') {
            ck_assert_str_eq(line, HEADER);
            in_rows = true;
        }
    }
    fclose(file);
    ck_assert_uint_gt(all->count, 0);
    return all;
}

/* ---- the formulas, as the comments of coefficients.csv state them */

static double formula_n(const recipe *r, double nm)
{
    double um = nm / 1e3;
    double sum = 0;
    if (strcmp(r->formula, "power") == 0) {
        for (size_t i = 0; i < r->numbers; i += 2) {
            sum += r->number[i] * pow(um, r->number[i + 1]);
        }
        return sum;
    }
    bool leads = strcmp(r->formula, "sellmeier_const") == 0 || strcmp(r->formula, "pole_const") == 0;
    bool root = strcmp(r->formula, "sellmeier_root") == 0 || strcmp(r->formula, "pole_const") == 0;
    bool numerator_one = strcmp(r->formula, "pole_const") == 0;
    ck_assert_msg(leads || root || strcmp(r->formula, "sellmeier") == 0, "unknown formula %s", r->formula);
    for (size_t i = leads ? 1 : 0; i < r->numbers; i += 2) {
        double resonance = root ? pow(r->number[i + 1], 2) : r->number[i + 1];
        sum += r->number[i] * (numerator_one ? 1 : pow(um, 2)) / (pow(um, 2) - resonance);
    }
    return sqrt((leads ? r->number[0] : 1) + sum);
}

/* The least and the most of the two published values around nm; false outside them. */
static bool published_k(const recipe *r, double nm, double *least, double *most)
{
    for (size_t i = 2; i < r->k_numbers; i += 2) {
        if (nm >= 1e3 * r->k_number[i - 2] - 1e-6 && nm <= 1e3 * r->k_number[i] + 1e-6) {
            *least = fmin(r->k_number[i - 1], r->k_number[i + 1]);
            *most = fmax(r->k_number[i - 1], r->k_number[i + 1]);
            return true;
        }
    }
    return false;
}

/* 1 up to the end of the published range, then 1 - 3x^2 + 2x^3 over the next 15 % of the wavelength. */
static double fade(const recipe *r, double nm)
{
    double x = fmax(0.0, fmin(1.0, (nm / r->k_to_nm - 1.0) / 0.15));
    return 1.0 - 3.0 * x * x + 2.0 * x * x * x;
}

static double formula_k(const recipe *r, double nm)
{
    if (strcmp(r->k_formula, "zero") == 0 || nm < r->k_from_nm) {
        return 0;
    }
    if (strcmp(r->k_formula, "constant") == 0) {
        return r->k_number[0];
    }
    bool energy = strcmp(r->k_formula, "exp_energy") == 0;
    ck_assert_msg(energy || strcmp(r->k_formula, "exp_wavelength") == 0, "unknown k_formula %s", r->k_formula);
    double um = nm / 1e3;
    return fade(r, nm) * exp(r->k_number[0] + r->k_number[1] * (energy ? 1.23984 / um : um));
}

/* ---- the tables */

static bc_dispersion *read_table(const char *name)
{
    char path[PATH_SIZE];
    bc_error error = {BC_OK, ""};
    bc_dispersion *table = NULL;
    snprintf(path, sizeof path, "%s/%s.csv", FOLDER, name);
    ck_assert_msg(bc_dispersion_read(path, name, &table, &error) == BC_OK, "%s", error.message);
    return table;
}

static double table_n(const bc_dispersion *table, double nm)
{
    double n = 0;
    bc_error error = {BC_OK, ""};
    ck_assert_msg(bc_dispersion_index(table, 1, &nm, &n, NULL, &error) == BC_OK, "%s", error.message);
    return n;
}

START_TEST(ranges_are_those_of_the_coefficients)
{
    recipes *all = read_recipes();
    for (size_t i = 0; i < all->count; i++) {
        const recipe *r = &all->recipe[i];
        bc_dispersion *table = read_table(r->name);
        double from_nm = 0;
        double to_nm = 0;
        bc_dispersion_range(table, &from_nm, &to_nm);
        ck_assert_msg(from_nm == r->from_nm && to_nm == r->to_nm, "%s runs from %.17g to %.17g nm", r->name, from_nm,
                      to_nm);
        ck_assert_msg(bc_dispersion_rows(table) <= 400, "%s has %zu rows", r->name, bc_dispersion_rows(table));
        bc_dispersion_free(table);
    }
    free(all);
}
END_TEST

/* check_n stands beside the coefficients, to six decimals: half a digit, and what the interpolation may add. */
START_TEST(check_values_come_back)
{
    recipes *all = read_recipes();
    for (size_t i = 0; i < all->count; i++) {
        const recipe *r = &all->recipe[i];
        bc_dispersion *table = read_table(r->name);
        double n = table_n(table, r->check_nm);
        ck_assert_msg(fabs(n - r->check_n) <= 2e-6, "%s: n %.7f at %g nm, not %.6f", r->name, n, r->check_nm,
                      r->check_n);
        bc_dispersion_free(table);
    }
    free(all);
}
END_TEST

/* One wavelength: n to 2e-6; k to 1e-7 and 0.3 %, or, where values were published and no law, between its neighbours.
 */
static void compare(const recipe *r, double nm, double n, double k)
{
    ck_assert_msg(fabs(n - formula_n(r, nm)) < 2e-6, "%s: n %.7f at %.4f nm, not %.7f", r->name, n, nm,
                  formula_n(r, nm));
    if (strcmp(r->k_formula, "table") == 0) {
        double least = 0, most = 0;
        bool inside = published_k(r, nm, &least, &most);
        ck_assert_msg(inside || nm <= r->k_from_nm, "%s: no k was published at %.4f nm", r->name, nm);
        ck_assert_msg(k >= least * (1 - 1e-6) && k <= most * (1 + 1e-6), "%s: k %g at %.4f nm, not %g to %g", r->name,
                      k, nm, least, most);
        return;
    }
    double true_k = formula_k(r, nm);
    ck_assert_msg(k >= 0 && fabs(k - true_k) <= 1e-7 + 3e-3 * true_k, "%s: k %.6e at %.4f nm, not %.6e", r->name, k, nm,
                  true_k);
}

/* 2 SAMPLES wavelengths, both ends among them: half evenly spread over the range and half evenly over the intervals,
 * because the rows lie close together at the short end. */
static void sample(const bc_dispersion *table, const recipe *r, double nm[])
{
    size_t intervals = bc_dispersion_rows(table) - 1;
    for (size_t j = 0; j < SAMPLES; j++) {
        double share = (double)j / SAMPLES;
        double place = share * (double)intervals;
        double left_nm = 0;
        double right_nm = 0;
        double unused = 0;
        bc_dispersion_row(table, (size_t)place, &left_nm, &unused, &unused);
        bc_dispersion_row(table, (size_t)place + 1, &right_nm, &unused, &unused);
        nm[j] = r->to_nm - share * (r->to_nm - r->from_nm);
        nm[SAMPLES + j] = left_nm + (place - floor(place)) * (right_nm - left_nm);
    }
}

START_TEST(interpolation_follows_the_formulas)
{
    recipes *all = read_recipes();
    const size_t points = (size_t)2 * SAMPLES;
    double *nm = malloc(3 * points * sizeof *nm);
    ck_assert_ptr_nonnull(nm);
    double *n = nm + points;
    double *k = n + points;
    for (size_t i = 0; i < all->count; i++) {
        bc_dispersion *table = read_table(all->recipe[i].name);
        bc_error error = {BC_OK, ""};
        sample(table, &all->recipe[i], nm);
        ck_assert_msg(bc_dispersion_index(table, points, nm, n, k, &error) == BC_OK, "%s", error.message);
        for (size_t j = 0; j < points; j++) {
            compare(&all->recipe[i], nm[j], n[j], k[j]);
        }
        bc_dispersion_free(table);
    }
    free(nm);
    free(all);
}
END_TEST

/* An optical glass is named by nd - 1 to three digits and ten times the Abbe number Vd = (nd - 1)/(nF - nC) to three
 * (MIL-G-174 practice; the lines d 587.562, F 486.133, C 656.273 nm). nd to four and Vd to two decimals are the
 * catalogue values of the glasses with these codes. Every one of the six codes rounds in the ordinary way. */
START_TEST(glass_codes_come_back)
{
    static const struct {
        const char *code;
        double nd, vd;
    } glass[] = {
        {"517642", 1.5168, 64.17}, {"620364", 1.6200, 36.37}, {"620603", 1.6204, 60.32},
        {"651559", 1.6511, 55.89}, {"785257", 1.7847, 25.68}, {"805254", 1.8052, 25.36},
    };
    for (size_t i = 0; i < sizeof glass / sizeof glass[0]; i++) {
        bc_dispersion *table = read_table(glass[i].code);
        double nd = table_n(table, 587.562);
        double vd = (nd - 1) / (table_n(table, 486.133) - table_n(table, 656.273));
        char code[16];
        snprintf(code, sizeof code, "%03ld%03ld", lround(1000 * (nd - 1)), lround(10 * vd));
        ck_assert_str_eq(code, glass[i].code);
        ck_assert_msg(fabs(nd - glass[i].nd) <= 0.5e-4, "%s: nd %.6f", glass[i].code, nd);
        ck_assert_msg(fabs(vd - glass[i].vd) <= 0.5e-2, "%s: Vd %.4f", glass[i].code, vd);
        bc_dispersion_free(table);
    }
}
END_TEST

/* Malitson, J. Opt. Soc. Am. 55, 1205 (1965): nd of fused silica 1.458464. */
START_TEST(fused_silica_has_its_published_index)
{
    bc_dispersion *table = read_table("fused-silica");
    ck_assert_double_eq_tol(table_n(table, 587.562), 1.458464, 1.5e-6);
    bc_dispersion_free(table);
}
END_TEST

START_TEST(every_table_names_its_source)
{
    static const char *const key[] = {"material", "kind", "source", "range", "formula", "k", "note", "generated"};
    recipes *all = read_recipes();
    for (size_t i = 0; i < all->count; i++) {
        bc_dispersion *table = read_table(all->recipe[i].name);
        for (size_t j = 0; j < sizeof key / sizeof key[0]; j++) {
            const char *note = bc_dispersion_note(table, key[j]);
            ck_assert_msg(note != NULL && note[0] != '\0', "%s says no %s", all->recipe[i].name, key[j]);
        }
        ck_assert_str_eq(bc_dispersion_note(table, "material"), all->recipe[i].name);
        bc_dispersion_free(table);
    }
    free(all);
}
END_TEST

START_TEST(hazards_carry_a_caution)
{
    static const char *const name[] = {"MgF2", "CaF2", "BaF2", "YbF3", "LaF3", "ZnS", "ZnS-bulk", "ZnSe"};
    for (size_t i = 0; i < sizeof name / sizeof name[0]; i++) {
        bc_dispersion *table = read_table(name[i]);
        const char *caution = bc_dispersion_note(table, "caution");
        ck_assert_msg(caution != NULL && strstr(caution, "safety data sheet") != NULL, "%s has no caution", name[i]);
        bc_dispersion_free(table);
    }
}
END_TEST

/* CRC Handbook of Chemistry and Physics, Physical Constants of Inorganic Compounds, from memory: g/cm3 of the bulk. */
START_TEST(films_have_a_density)
{
    static const struct {
        const char *name;
        double density;
    } bulk[] = {{"MgF2", 3.148}, {"SiO2", 2.196}, {"Al2O3", 3.99}, {"HfO2", 9.68}, {"Ge-film", 5.3234}};
    for (size_t i = 0; i < sizeof bulk / sizeof bulk[0]; i++) {
        bc_dispersion *table = read_table(bulk[i].name);
        ck_assert_double_eq(bc_dispersion_note_number(table, "density_g_cm3"), bulk[i].density);
        ck_assert(isnan(bc_dispersion_note_number(table, "source")) && isnan(bc_dispersion_note_number(table, "none")));
        bc_dispersion_free(table);
    }
}
END_TEST

/* ---- the script */

/* The exit status of a program found on the path. LC_ALL=C: some awks take the decimal point from the language. */
static int run(char *const arguments[])
{
    char *environment[] = {"LC_ALL=C", NULL};
    pid_t child = 0;
    int status = 0;
    ck_assert_int_eq(posix_spawnp(&child, arguments[0], NULL, NULL, arguments, environment), 0);
    ck_assert_int_eq(waitpid(child, &status, 0), child);
    ck_assert(WIFEXITED(status));
    return WEXITSTATUS(status);
}

/* Byte for byte, and none missing on either side. */
START_TEST(script_makes_the_checked_in_tables)
{
    char folder[] = BC_BUILD_DIR "/materials-XXXXXX";
    char out[PATH_SIZE];
    ck_assert_ptr_nonnull(mkdtemp(folder));
    snprintf(out, sizeof out, "out=%s", folder);
    char *make[] = {"awk", "-v", out, "-f", FOLDER "/make-tables.awk", COEFFICIENTS, NULL};
    char checked_in[] = FOLDER;
    char *compare_folders[] = {"diff", "-rx",  "coefficients.csv", "-x", "glasses.csv", "-x", "*.awk", "-x",
                               "*.md", folder, checked_in,         NULL};
    char *clear[] = {"rm", "-r", folder, NULL};
    int made = run(make);
    int differ = made == 0 ? run(compare_folders) : 0;
    ck_assert_int_eq(run(clear), 0);
    ck_assert_msg(made == 0, "awk ended with status %d", made);
    ck_assert_msg(differ == 0, "materials/ is not what make-tables.awk makes of coefficients.csv (diff above)");
}
END_TEST

Suite *materials_data_suite(void)
{
    Suite *suite = suite_create("materials data");
    TCase *data = tcase_create("data");
    tcase_set_timeout(data, 60);
    tcase_add_test(data, script_makes_the_checked_in_tables);
    tcase_add_test(data, ranges_are_those_of_the_coefficients);
    tcase_add_test(data, check_values_come_back);
    tcase_add_test(data, interpolation_follows_the_formulas);
    tcase_add_test(data, glass_codes_come_back);
    tcase_add_test(data, fused_silica_has_its_published_index);
    tcase_add_test(data, every_table_names_its_source);
    tcase_add_test(data, hazards_carry_a_caution);
    tcase_add_test(data, films_have_a_density);
    suite_add_tcase(suite, data);
    return suite;
}
