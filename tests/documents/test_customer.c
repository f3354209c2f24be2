/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Pages for the customer keep the recipe in the house: of every example, as HTML and as PDF, on A4 and on Letter, no
 * layer's thickness, no layer material, no number of layers, no file and nothing of the process; one page; verdict and
 * quantity in its first third.
 */
#include "../report/markup.h"
#include "documents.h"
#include <ctype.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define QUOTE(part, glass, more)                                                                                       \
    "bloomcoat quote --callouts examples/" part "-callouts.csv --substrate " glass                                     \
    " --process examples/process.csv --chamber examples/chamber.csv --quantity 437 --part-diameter-mm 24 --effort "    \
    "0.05 --prove 0 --quote-number Q-1042 --date 2026-05-04 --validity-days 30 --title Coating " more
#define INSPECT                                                                                                        \
    " --stack examples/window-stack.csv --callouts examples/window-callouts.csv --column 2 --column 3 --column 4 "     \
    "--aoi 8 --uncertainty-percent 0.05 --from-fit --process examples/process.csv --lot-size 437 "

/* The requests of start.sh with less of a search, one on a curved surface, one in words with many rows, and its
 * inspections; the verdict's words. The first four, which the sanitizers see, are of every kind. */
static const struct {
    const char *line, *verdict, *quantity;
} customer[] = {
    {QUOTE("window", "517642", "--materials MgF2,HfO2,Al2O3 --max-layers 3 --both-sides"), "Offered as asked",
     "437 parts"},
    {QUOTE("concave-agreed", "805254",
           "--materials MgF2,HfO2 --max-layers 2 --radius-mm 15 --shape concave --clear-aperture-mm 20 "
           "--angle-reference axis --zones "
           "5"),
     "asked", "437 parts"},
    {"bloomcoat inspect examples/window-witness-7.txt" INSPECT, "Does not conform", "437 parts"},
    {"bloomcoat inspect examples/window-witness-7.txt examples/window-witness-8.txt" INSPECT, "Does not conform",
     "437 parts"},
    {QUOTE("objective", "620603", "--materials MgF2,HfO2,Al2O3 --max-layers 2"), "asked", "437 parts"},
    {QUOTE("concave", "805254", "--materials MgF2,HfO2,Al2O3 --max-layers 2"), "Not feasible as asked", "437 parts"},
    {QUOTE("window", "517642 --substrate 620603",
           "--materials MgF2,Ta2O5 --max-layers 2 --callout 'Ravg < 0.4 %, 450-600 nm, 15 deg; Rmax < 2 %, 430-660 nm, "
           "45 deg, s and p "
           "each; R < 0.1 % @ 532 nm, 0 deg; R < 0.3 % @ 633 nm, 0-20 deg; Tavg > 98 %, 450-650 nm, 0 deg, per part'"),
     "Not feasible as asked", "437 parts"},
    {"bloomcoat inspect examples/window-witness-8.txt" INSPECT, "Conforms", "437 parts"},
};
#define CUSTOMERS (sizeof customer / sizeof customer[0])

/* Words of the house, none of which any example's callout is called by. */
static const char *const never[] = {"layer",   "yield",   "limit_used", "used",     "hour",      "load",
                                    "runs",    "process", "stack",      "nm thick", "thickness", "tooling",
                                    "sha-256", ".csv",    ".txt",       ".json",    "examples",  "/tmp",
                                    "rate",    "deposit", "vacuum",     "fitted",   "film",      "checksum"};

static bool is_part_of_word(char letter)
{
    return isalnum((unsigned char)letter) || letter == '_' || ((unsigned char)letter & 0x80) != 0;
}

static bool has_word(const char *text, const char *word)
{
    for (const char *at = text; (at = strstr(at, word)) != NULL; at++)
        if ((at == text || (!is_part_of_word(at[-1]) && at[-1] != '.')) && !is_part_of_word(at[strlen(word)]))
            return true;
    return false;
}

static bool begins_a_word(const char *text, const char *start)
{
    for (const char *at = text; (at = strstr(at, start)) != NULL; at++)
        if (at == text || !is_part_of_word(at[-1]) || start[0] == '.')
            return true;
    return false;
}

static char *lower(const char *text)
{
    char *copy = strdup(text);
    ck_assert_ptr_nonnull(copy);
    for (char *letter = copy; *letter != '\0'; letter++)
        *letter = (char)tolower((unsigned char)*letter);
    return copy;
}

/* Every value of a field of a JSON text, as a string. */
static size_t values_of(const char *json, const char *field, words *into)
{
    char key[64];
    size_t found = 0;
    snprintf(key, sizeof key, "\"%s\":\t", field);
    for (const char *at = json; (at = strstr(at, key)) != NULL; found++) {
        const bool quoted = at[strlen(key)] == '"';
        at += strlen(key) + quoted;
        add_word(into, at, strcspn(at, quoted ? "\"" : ",\n}"));
    }
    return found;
}

static void expect_no_thickness(const char *json, const char *page, const char *text)
{
    static const char *const field[] = {"thickness_nm", "total_nm", "design_nm", "fitted_nm"};
    static words list;
    size_t found = 0;
    list.count = 0;
    for (size_t i = 0; i < sizeof field / sizeof field[0]; i++)
        found += values_of(json, field[i], &list);
    ck_assert_uint_gt(found, 1);
    for (size_t i = 0; i < list.count; i++) {
        const double nm = strtod(list.word[i], NULL);
        for (int digits = 1; digits <= 4 && nm > 0.0; digits++) {
            char number[64];
            snprintf(number, sizeof number, "%.*f", digits, nm);
            ck_assert_msg(!has_word(text, number), "%s: found a thickness, %s nm", page, number);
        }
    }
}

/* The materials of every layer that was looked at, and of the process. */
static void expect_no_material(const char *json, const char *page, const char *text)
{
    static const char *const at_hand[] = {"MgF2", "HfO2", "Al2O3", "Ta2O5", "SiO2", "TiO2", "ZnS"};
    static words list;
    list.count = 0;
    ck_assert_uint_gt(values_of(json, "material", &list), 1);
    for (size_t i = 0; i < sizeof at_hand / sizeof at_hand[0]; i++)
        add_word(&list, at_hand[i], strlen(at_hand[i]));
    for (size_t i = 0; i < list.count; i++) {
        const char *name = list.word[i];
        if (strspn(name, "0123456789") == strlen(name)) /* a glass, which the customer named */
            continue;
        ck_assert_msg(strstr(text, name) == NULL, "%s: found a material, %s", page, name);
    }
}

static void expect_discreet(const char *json, const char *page, const char *text)
{
    char *small = lower(text);
    ck_assert_msg(strlen(text) > 500, "%s: found no more than %.1500s", page, text);
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
        ck_assert_msg(!begins_a_word(small, never[i]), "%s: found '%s' in %.1500s", page, never[i], text);
    ck_assert_msg(strstr(text, scratch_folder()) == NULL, "%s: found a path", page);
    free(small);
    expect_no_thickness(json, page, text);
    expect_no_material(json, page, text);
}

static const char *output_of(const char *line)
{
    const char *complaint;
    const int code = shell(line, &complaint);
    ck_assert_msg(code == 0, "'%s' ended with %d: %s", line, code, complaint);
    return content("said");
}

/* Letters of a PDF are one page, and its first third has what a reader looks for first. */
static void expect_one_page(const char *name, const char *verdict, const char *quantity, double height)
{
    char line[300];
    const char *text;
    snprintf(line, sizeof line, "pdfinfo %s", name);
    text = output_of(line);
    ck_assert_msg(strstr(text, "Pages:           1\n") != NULL, "%s: found %s", name, text);
    snprintf(line, sizeof line, "pdftotext -x 0 -y 0 -W 620 -H %.0f %s -", height / 3.0, name);
    text = output_of(line);
    ck_assert_msg(strstr(text, verdict) != NULL, "%s: no '%s' in its first third: %s", name, verdict, text);
    ck_assert_msg(strstr(text, quantity) != NULL, "%s: no '%s' in its first third: %s", name, quantity, text);
}

/* Loop: the customers, on Letter and A4 in turn. */
START_TEST(a_page_for_the_customer_keeps_the_recipe)
{
    const bool letter = _i % 2 == 0;
    const char *complaint;
    char line[4 * LINE_LENGTH], *json;
    markup page;
    snprintf(line, sizeof line, "%s --json --quiet --paper %s --report page.html --report page.pdf", customer[_i].line,
             letter ? "letter" : "a4");
    ck_assert_msg(shell(line, &complaint) < 2, "%s: %s", line, complaint);
    json = strdup(content("said"));
    ck_assert_ptr_nonnull(json);
    page = markup_read(content("page.html"));
    expect_discreet(json, "page.html", page.text);
    ck_assert_ptr_nonnull(strstr(page.text, strstr(line, "inspect") != NULL ? "Measured spectr" : "Predicted spectr"));
    expect_one_page("page.pdf", customer[_i].verdict, customer[_i].quantity, letter ? 792.0 : 842.0);
    expect_discreet(json, "page.pdf", output_of("pdftotext -layout page.pdf -"));
    free(page.text);
    free(json);
}
END_TEST

Suite *customer_suite(void)
{
    Suite *suite = suite_create("pages for the customer");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 600);
    tcase_add_loop_test(tcase, a_page_for_the_customer_keeps_the_recipe, 0, few_if_sanitized(CUSTOMERS));
    suite_add_tcase(suite, tcase);
    return suite;
}
