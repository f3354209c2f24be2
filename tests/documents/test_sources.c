/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <ctype.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FOLDER BC_SOURCE_DIR "/materials"

enum { NAME, RANGE, N_AT, K, SOURCE, NOTE, CELLS };

/* What the README says of a material, cell by cell; false: nothing. */
static bool row_of(const char *readme, const char *name, char cell[CELLS][LINE_LENGTH])
{
    char start[LINE_LENGTH];
    const char *at;
    snprintf(start, sizeof start, "\n| `%s` | ", name);
    at = strstr(readme, start);
    if (at == NULL)
        return false;
    ck_assert_msg(strstr(at + 1, start) == NULL, "two rows of %s", name);
    at += 3;
    for (int i = 0; i < CELLS; i++) {
        const char *end = strstr(at, " |");
        ck_assert_ptr_nonnull(end);
        snprintf(cell[i], LINE_LENGTH, "%.*s", (int)(end - at), at);
        at = end + 3;
    }
    return true;
}

/* The value of "# key: value" in a table; empty when there is none. */
static void comment_of(const char *table, const char *key, char value[LINE_LENGTH])
{
    char start[LINE_LENGTH];
    const char *at;
    snprintf(start, sizeof start, "\n# %s: ", key);
    at = strstr(table, start);
    value[0] = '\0';
    if (at != NULL)
        snprintf(value, LINE_LENGTH, "%.*s", (int)strcspn(at + strlen(start), "\n"), at + strlen(start));
}

static bool is_glass(const char *name)
{
    return strlen(name) == 6 && strspn(name, "0123456789") == 6;
}

/* The text with every run of blanks and line ends as one blank. */
static void flatten(char *text)
{
    char *to = text;
    for (const char *from = text; *from != '\0'; from++)
        if (!isspace((unsigned char)*from))
            *to++ = *from;
        else if (to == text || to[-1] != ' ')
            *to++ = ' ';
    *to = '\0';
}

/* All glasses share one source, which stands below their table. */
static void check_glass_source(const char *readme, const char *source, const char *doi, const char *name)
{
    char *flat = strdup(readme), expected[3 * LINE_LENGTH], *paragraph;
    flatten(flat);
    paragraph = strstr(flat, "The coefficients are the ");
    ck_assert_ptr_nonnull(paragraph);
    /* "catalogue ... with this six-digit code" there, "the glass with that code" here: the work they are from counts */
    snprintf(expected, sizeof expected, "%s, doi:%s", "Polyanskiy, Sci. Data 11, 94 (2024)", doi);
    ck_assert_msg(strstr(source, "Polyanskiy, Sci. Data 11, 94 (2024)") != NULL, "%s: %s", name, source);
    ck_assert_msg(strstr(paragraph, expected) != NULL, "no '%s' for %s", expected, name);
    free(flat);
}

static void check_k(const char *name, const char *cell, const char *k)
{
    double to_um;
    char expected[WORD_SIZE];
    if (sscanf(cell, "up to %lf um", &to_um) == 1) {
        snprintf(expected, sizeof expected, " to %.2f um, from there smoothly to 0 at ", to_um);
        ck_assert_msg(strstr(k, expected) != NULL, "%s: k '%s' here, '%s' in the table", name, cell, k);
    } else if (sscanf(cell, "from %lf um", &to_um) == 1) {
        snprintf(expected, sizeof expected, ", from %g to ", to_um);
        ck_assert_msg(strstr(k, expected) != NULL, "%s: k '%s' here, '%s' in the table", name, cell, k);
    } else {
        ck_assert_msg(strncmp(k, cell, strlen(cell)) == 0 && k[strlen(cell)] == ' ', "%s: k '%s' here, '%s' there",
                      name, cell, k);
    }
}

/* The index that the program finds, to every digit the README gives. */
static void check_n(const char *name, const char *cell)
{
    char line[300], found[40], n[40];
    double at_um;
    cJSON *root;
    ck_assert_int_eq(sscanf(cell, "%39s at %lf", n, &at_um), 2);
    snprintf(line, sizeof line, "materials %s --at-nm %.9g --json", name, 1000.0 * at_um);
    root = parse(expect(0, NULL, line).out);
    snprintf(found, sizeof found, "%.*f", (int)strlen(strchr(n, '.') + 1), number_of(root, "n"));
    cJSON_Delete(root);
    ck_assert_msg(fabs(strtod(found, NULL) - strtod(n, NULL)) < 1.5e-6, "%s: n %s here, %s by the table", name, n,
                  found);
}

static void check_table(const char *readme, const char *name, const char *table)
{
    static char cell[CELLS][LINE_LENGTH];
    char range[LINE_LENGTH], source[LINE_LENGTH], doi[LINE_LENGTH], note[LINE_LENGTH], k[LINE_LENGTH];
    char whole[3 * LINE_LENGTH], from[40], to[40];
    ck_assert_msg(row_of(readme, name, cell), "no row of %s", name);
    comment_of(table, "range", range);
    comment_of(table, "source", source);
    comment_of(table, "doi", doi);
    comment_of(table, "note", note);
    comment_of(table, "k", k);
    ck_assert_msg(source[0] != '\0' && note[0] != '\0', "%s has no source, or no note", name);
    ck_assert_int_eq(sscanf(range, "%39s to %39s um", from, to), 2);
    snprintf(whole, sizeof whole, "%s-%s", from, to);
    ck_assert_msg(strcmp(cell[RANGE], whole) == 0, "%s: range '%s' here, '%s' there", name, cell[RANGE], whole);
    check_k(name, cell[K], k);
    check_n(name, cell[N_AT]);
    if (is_glass(name)) {
        ck_assert_str_eq(cell[SOURCE], "see below the table");
        check_glass_source(readme, source, doi, name);
        return;
    }
    snprintf(whole, sizeof whole, "%s%s%s", source, doi[0] == '\0' ? "" : ", doi:", doi);
    ck_assert_msg(strcmp(cell[SOURCE], whole) == 0, "%s: source '%s' here, '%s' there", name, cell[SOURCE], whole);
    ck_assert_msg(strcmp(cell[NOTE], note) == 0, "%s: note '%s' here, '%s' there", name, cell[NOTE], note);
}

/* The paragraph on safety data sheets names the very tables that carry a caution. */
static void check_caution(const char *readme, const char *name, bool has_caution)
{
    const char *start = strstr(readme, "**Read the safety data sheet**"), *end;
    bool found = false;
    ck_assert_ptr_nonnull(start);
    end = strstr(start, "carry a caution");
    ck_assert_ptr_nonnull(end);
    for (const char *at = start; at < end; at++) {
        const size_t length = strlen(name);
        found = found || (strncmp(at, name, length) == 0 && strchr("( ,)", at[-1]) != NULL &&
                          strchr(",) \n", at[length]) != NULL);
    }
    ck_assert_msg(found == has_caution, "%s: %s", name, has_caution ? "its caution is not told" : "it has no caution");
}

START_TEST(the_readme_of_the_materials_says_what_the_tables_say)
{
    char *readme = read_file(FOLDER "/README.md");
    DIR *folder = opendir(FOLDER);
    const struct dirent *entry;
    size_t tables = 0, rows = 0;
    ck_assert_ptr_nonnull(folder);
    while ((entry = readdir(folder)) != NULL) {
        const char *dot = strrchr(entry->d_name, '.');
        char path[PATH_SIZE], name[WORD_SIZE], caution[LINE_LENGTH];
        if (dot == NULL || strcmp(dot, ".csv") != 0 || strcmp(entry->d_name, "coefficients.csv") == 0 ||
            strcmp(entry->d_name, "glasses.csv") == 0)
            continue;
        snprintf(path, sizeof path, FOLDER "/%s", entry->d_name);
        snprintf(name, sizeof name, "%.*s", (int)(dot - entry->d_name), entry->d_name);
        char *table = read_file(path);
        check_table(readme, name, table);
        comment_of(table, "caution", caution);
        check_caution(readme, name, caution[0] != '\0');
        free(table);
        tables++;
    }
    closedir(folder);
    for (const char *at = readme; (at = strstr(at, "\n| `")) != NULL; at++)
        rows++;
    ck_assert_uint_eq(rows, tables);
    free(readme);
}
END_TEST

Suite *sources_suite(void)
{
    Suite *suite = suite_create("sources");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 300);
    tcase_add_test(tcase, the_readme_of_the_materials_says_what_the_tables_say);
    suite_add_tcase(suite, tcase);
    return suite;
}
