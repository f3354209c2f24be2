/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where, when and beside whom the program runs does not show in what it says; names of files may hold anything.
 */
#include "program.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#define TOGETHER 16

static const char *const lines[] = {
    "spectrum stack.csv --step 50",
    "check stack.csv --callouts callouts.csv",
    "check stack.csv --callouts callouts.csv --json",
    "refine stack.csv --callouts callouts.csv",
    "draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2 --effort 0.05 --prove 0",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 50",
    "deposit stack.csv --process process.csv --monitor-nm 500",
    "materials MgF2",
    "help yield",
    "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 --zones 5",
    "inspect scan.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05",
    "quote --callouts hard.csv --substrate 1.52 --materials 1.38,2.1 --process process.csv --quantity 40 "
    "--part-diameter-mm 30 --effort 0.05 --max-layers 1 --prove 0",
    "spectrum stack.csv --step 50 --json",
    "refine stack.csv --callouts callouts.csv --json",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 50 --json",
    "deposit stack.csv --process process.csv --monitor-nm 500 --json",
    "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 --zones 5 --json",
    "inspect scan.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05 --json",
    "materials MgF2 --json",
    "check wrong.csv --callouts callouts.csv",
};

/* About what stack.csv reflects. */
static void write_scan(void)
{
    char text[1200] = "nm,%R\n";
    for (int nm = 420; nm <= 680; nm += 10)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%d,0.%d\n", nm, 15 + (nm * 7) % 11);
    scratch_write("scan.csv", text);
}

static void write_all(void)
{
    write_inputs();
    scratch_write("process.csv", "material,rate_nm_per_s,thickness_sigma_percent,index_sigma\n*,0.5,2,0.01\n");
    write_scan();
    scratch_write("wrong.csv", "role,material,thickness_nm\nincident,air,\nlayer,1.38,-97,5\nsubstrate,1.52,\n");
}

typedef struct both {
    char *out, *err;
} both;

static both copy(const outcome *result)
{
    return (both){strdup(result->out), strdup(result->err)};
}

static void expect_same(const char *line, const both *usual, const outcome *other)
{
    ck_assert_msg(strcmp(usual->out, other->out) == 0 && strcmp(usual->err, other->err) == 0,
                  "'%s' says something else: %s%s", line, other->out, other->err);
}

/* The environment that a person in another country has. A locale that is not there is as good as none. */
START_TEST(country_and_hour_do_not_show)
{
    static const char *const set[][2] = {
        {"LC_ALL", "de_DE.UTF-8"}, {"LC_ALL", "tr_TR.UTF-8"}, {"LANG", "ja_JP.EUC-JP"}};
    write_all();
    const outcome here = run(lines[_i]);
    both usual = copy(&here);
    for (int i = 0; i < 2; i++) { /* two of the three, and the other zone of time with the second */
        const char *const *pair = set[(_i + i) % 3];
        setenv(pair[0], pair[1], 1);
        if (i == 1)
            setenv("TZ", "Asia/Kolkata", 1);
        const outcome there = run(lines[_i]);
        unsetenv(pair[0]);
        unsetenv("TZ");
        expect_same(lines[_i], &usual, &there);
    }
    free(usual.out);
    free(usual.err);
}
END_TEST

/* The figures of a run, which do not name the files. */
START_TEST(the_folder_does_not_show)
{
    char absolute[PATH_SIZE], callouts[PATH_SIZE], relative[PATH_SIZE], up[PATH_SIZE];
    const circumstances root = {.file_size = -1, .folder = "/"};
    write_all();
    const outcome here = run("spectrum stack.csv --step 50 --quiet");
    both usual = copy(&here);
    snprintf(absolute, sizeof absolute, "%s", scratch_path("stack.csv"));
    snprintf(callouts, sizeof callouts, "%s", scratch_path("callouts.csv"));
    snprintf(relative, sizeof relative, "%s", absolute + 1); /* from / */
    snprintf(up, sizeof up, "../%s/./stack.csv", strrchr(scratch_folder(), '/') + 1);
    const circumstances usually = {.file_size = -1};
    const char *const paths[] = {absolute, relative, up};
    for (size_t i = 0; i < 3; i++) {
        const char *words[] = {"spectrum", paths[i], "--step", "50", "--quiet", NULL};
        const outcome there = run_words(i == 2 ? &usually : &root, words);
        expect_same(paths[i], &usual, &there);
        const char *check[] = {"check", paths[i], "--callouts", callouts, NULL};
        ck_assert_int_eq(run_words(i == 2 ? &usually : &root, check).code, 0);
    }
    free(usual.out);
    free(usual.err);
}
END_TEST

static const char *const names[] = {
    "with blanks .csv",
    " leading.csv",
    "a'b\"c.csv",
    "new\nline.csv",
    "tab\there.csv",
    "d\xC3\xBCnn \xE2\x82\xAC.csv",
    "bad\xFF\xC3.csv",
    "-x.csv",
    "--json",
    "%s%n%d.csv",
    "$HOME;`id`.csv",
    "\xE2\x80\xAE"
    "vsc.csv",
    "\x1B[31m.csv",
    "*.csv",
    "#hash,comma.csv",
    "\\backslash",
    "no-ending",
    "...",
};

/* No message may drive a terminal or take more than its line. */
static void expect_tame(const char *name, const char *text)
{
    for (const char *byte = text; *byte != '\0'; byte++)
        ck_assert_msg((unsigned char)*byte >= 0x20 || *byte == '\n', "'%s': a control character is shown", name);
}

START_TEST(a_name_may_hold_anything)
{
    const char *name = names[_i];
    const circumstances usual = {.file_size = -1};
    char dotted[300];
    outcome result;
    write_all();
    snprintf(dotted, sizeof dotted, "./%s", name);
    scratch_write(name, content("stack.csv"));
    const char *last[] = {"check", "--callouts", "callouts.csv", "--", name, NULL};
    result = run_words(&usual, last);
    ck_assert_msg(result.code == 0, "'%s' after --: %s", name, result.err);
    expect_tame(name, result.out);
    const char *first[] = {"check", dotted, "--callouts", "callouts.csv", "--json", NULL};
    result = run_words(&usual, first);
    ck_assert_msg(result.code == 0, "'%s': %s", dotted, result.err);
    /* written to, and read back */
    const char *out[] = {"refine", "stack.csv", "--callouts", "callouts.csv", "-o", dotted, NULL};
    result = run_words(&usual, out);
    ck_assert_msg(result.code == 0, "-o '%s': %s", dotted, result.err);
    ck_assert_int_eq(run_words(&usual, last).code, 0);
    /* wrong, and named in the message */
    scratch_write(name, "role,material\nlayer,air\n");
    result = run_words(&usual, first);
    ck_assert_int_eq(result.code, 2);
    expect_tame(name, result.err);
    ck_assert_ptr_eq(strchr(result.err, '\n'), strrchr(result.err, '\n'));
    const char *missing[] = {"check", "stack.csv", "--callouts", dotted, NULL};
    unlink(scratch_path(name));
    result = run_words(&usual, missing);
    ck_assert_int_eq(result.code, 2);
    expect_tame(name, result.err);
}
END_TEST

START_TEST(a_folder_may_be_called_anything)
{
    const circumstances usual = {.file_size = -1};
    const char *table = "wavelength_nm,n\n300,1.4\n900,1.39\n";
    char path[600];
    write_all();
    ck_assert_int_eq(mkdir(scratch_path(names[_i]), 0700), 0);
    snprintf(path, sizeof path, "%s/mine.csv", names[_i]);
    scratch_write(path, table);
    snprintf(path, sizeof path, "./%s", names[_i]);
    const char *words[] = {"materials", "mine", "--tables", path, NULL};
    const outcome result = run_words(&usual, words);
    ck_assert_msg(result.code == 0, "'%s': %s", path, result.err);
    expect_tame(path, result.out);
}
END_TEST

static const char *const wandering[] = {
    "../secret",
    "sub/secret",
    "/secret",
    "..",
    ".",
    "",
    "...",
    ".secret",
    "..\\secret",
    "a\nb",
    "a\tb",
    "secret\x1B[0m",
    "secret.csv/../../secret",
    "%2e%2e/secret",
    "secret\xC0\xAF",
    "~",
    "$HOME",
    "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", /* 64 letters */
};

/* A table that a name could only reach by leading out of the folder is never read. */
START_TEST(a_name_does_not_lead_out_of_its_folders)
{
    const circumstances usual = {.file_size = -1};
    const char *name = wandering[_i];
    const char *table = "wavelength_nm,n\n300,1.4\n900,1.39\n";
    char text[400];
    write_all();
    ck_assert_int_eq(mkdir(scratch_path("tables"), 0700), 0);
    ck_assert_int_eq(mkdir(scratch_path("tables/sub"), 0700), 0);
    scratch_write("secret.csv", table);
    scratch_write("tables/sub/secret.csv", table);
    scratch_write("tables/.secret.csv", table);
    scratch_write("tables/.csv", table);
    scratch_write("tables/...csv", table);
    const char *words[] = {"materials", "--tables", "tables", "--", name, NULL};
    const char *glass[] = {"check",       "stack.csv", "--callouts", "callouts.csv", "--tables", "tables",
                           "--substrate", name,        NULL};
    outcome result = run_words(&usual, words);
    ck_assert_msg(result.code == 2, "materials '%s' ended with %d: %s%s", name, result.code, result.out, result.err);
    expect_tame(name, result.err);
    result = run_words(&usual, glass);
    ck_assert_msg(result.code == 2, "--substrate '%s' ended with %d: %s", name, result.code, result.err);
    expect_tame(name, result.err);
    snprintf(text, sizeof text, "role,material,thickness_nm\nincident,air,\nlayer,\"%s\",97\nsubstrate,1.52,\n", name);
    scratch_write("out.csv", text);
    const char *stack[] = {"check", "out.csv", "--callouts", "callouts.csv", "--tables", "tables", NULL};
    result = run_words(&usual, stack);
    ck_assert_msg(result.code == 2, "a layer of '%s' ended with %d: %s", name, result.code, result.err);
    expect_tame(name, result.err);
}
END_TEST

/* Many at once, on the same inputs and to the same file: each says what it says alone, and the file is one of theirs.
 */
START_TEST(many_at_once_do_not_disturb_each_other)
{
    const circumstances usual = {.file_size = -1};
    char out[TOGETHER][32];
    pid_t child[TOGETHER];
    write_all();
    ck_assert_int_eq(run("refine stack.csv --callouts callouts.csv --quiet -o alone.csv").code, 0);
    const size_t files = count_files();
    char *alone = strdup(content("alone.csv"));
    for (int i = 0; i < TOGETHER; i++) {
        snprintf(out[i], sizeof out[i], "%s%d.csv", i % 2 == 0 ? "own" : "shared", i % 2 == 0 ? i : 0);
        child[i] = run_start(&usual, "refine stack.csv --callouts callouts.csv --quiet -o", out[i]);
    }
    for (int i = 0; i < TOGETHER; i++) {
        int status = -1;
        ck_assert_int_eq(waitpid(child[i], &status, 0), child[i]);
        ck_assert(WIFEXITED(status) && WEXITSTATUS(status) == 0);
        ck_assert_str_eq(content(out[i]), alone);
    }
    ck_assert_uint_eq(count_files(), files + TOGETHER / 2 + 1);
    run("--version"); /* clears away what they said */
    free(alone);
}
END_TEST

#define COUNT(list) ((int)(sizeof(list) / sizeof(list)[0]))

Suite *places_suite(void)
{
    Suite *suite = suite_create("places");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 300); /* with the sanitizers on a busy machine */
    tcase_add_loop_test(tcase, country_and_hour_do_not_show, 0, few_if_sanitized(COUNT(lines)));
    tcase_add_test(tcase, the_folder_does_not_show);
    tcase_add_loop_test(tcase, a_name_may_hold_anything, 0, few_if_sanitized(COUNT(names)));
    tcase_add_loop_test(tcase, a_folder_may_be_called_anything, 0, few_if_sanitized(COUNT(names)));
    tcase_add_loop_test(tcase, a_name_does_not_lead_out_of_its_folders, 0, COUNT(wandering));
    tcase_add_test(tcase, many_at_once_do_not_disturb_each_other);
    suite_add_tcase(suite, tcase);
    return suite;
}
