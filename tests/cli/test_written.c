/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Files written: the same bytes wherever and whenever, under any name, and whole when many write at once.
 */
#include "program.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* Under the sanitizers a writer takes twenty times as long, and what may go wrong between two goes wrong between four.
 */
#define TOGETHER      few_if_sanitized(MOST_TOGETHER)
#define MOST_TOGETHER 16

/* A command and the option that writes; a file's name is to follow. */
static const char *const writers[] = {
    "spectrum stack.csv --step 50 --quiet --plot",
    "check stack.csv --callouts callouts.csv --quiet --date 2024-05-06 --report",
    "check stack.csv --callouts callouts.csv --quiet --plot",
    "refine stack.csv --callouts callouts.csv --quiet --plot",
    "draft --callouts callouts.csv --substrate 1.52 --materials 1.38,2.1 --max-layers 2 --effort 0.05 --quiet --plot",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 50 --quiet --plot",
    "yield stack.csv --callouts callouts.csv --process process.csv --runs 50 --quiet --date 2024-05-06 --report",
    "quote --callouts hard.csv --substrate 1.52 --materials 1.38,2.1 --effort 0.05 --max-layers 1 --prove 0 --quiet "
    "--date "
    "2024-05-06 "
    "--report",
    "deposit stack.csv --process process.csv --monitor-nm 500 --quiet --plot",
    "deposit stack.csv --process process.csv --monitor-nm 500 --quiet --date 2024-05-06 --report",
    "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 --zones 5 --quiet --plot",
    "lens stack.csv --callouts callouts.csv --radius-mm 40 --clear-aperture-mm 20 --zones 5 --quiet --date 2024-05-06 "
    "--report",
    "inspect scan.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05 --quiet --plot",
    "inspect scan.csv --stack stack.csv --callouts callouts.csv --uncertainty-percent 0.05 --quiet --date 2024-05-06 "
    "--report",
    "materials MgF2 --quiet --plot",
};
#define WRITERS ((int)(sizeof writers / sizeof writers[0]))

static const char *ending(const char *line)
{
    return strcmp(line + strlen(line) - 6, "--plot") == 0 ? "svg" : "html";
}

static void write_all(void)
{
    char text[1200] = "nm,%R\n";
    for (int nm = 420; nm <= 680; nm += 10)
        snprintf(text + strlen(text), sizeof text - strlen(text), "%d,0.%d\n", nm, 15 + (nm * 7) % 11);
    write_inputs();
    scratch_write("scan.csv", text);
    scratch_write("process.csv", "material,rate_nm_per_s,thickness_sigma_percent,index_sigma\n*,0.5,2,0.01\n");
}

/* Append `name` as one word, whatever is in it, and run. */
static outcome write_to(const char *line, const char *name)
{
    static const circumstances usual = {.file_size = -1};
    const char *words[40];
    char copy[600], *rest = copy;
    size_t count = 0;
    snprintf(copy, sizeof copy, "%s", line);
    while ((words[count] = strtok_r(rest, " ", &rest)) != NULL)
        count++;
    words[count] = name;
    words[count + 1] = NULL;
    return run_words(&usual, words);
}

static char *written(const char *line, const char *name)
{
    const outcome result = write_to(line, name);
    ck_assert_msg(result.code == 0 || result.code == 1, "'%s %s' ended with %d: %s", line, name, result.code,
                  result.err);
    ck_assert_msg(exists(name), "'%s' wrote no '%s'", line, name);
    return strdup(content(name));
}

/* A locale that is not installed is as good as none: then only the zones are tried. */
START_TEST(country_and_hour_do_not_show_in_a_file)
{
    static const struct {
        const char *locale, *zone;
    } set[] = {{"de_DE.UTF-8", "Pacific/Kiritimati"}, {"tr_TR.UTF-8", "nowhere"}};
    const char *line = writers[_i];
    char name[40];
    write_all();
    snprintf(name, sizeof name, "out.%s", ending(line));
    char *usual = written(line, name);
    ck_assert_uint_gt(strlen(usual), 200);
    for (size_t i = 0; i < sizeof set / sizeof set[0]; i++) {
        setenv("LC_ALL", set[i].locale, 1);
        setenv("TZ", set[i].zone, 1);
        char *there = written(line, name);
        unsetenv("LC_ALL");
        unsetenv("TZ");
        ck_assert_msg(strcmp(usual, there) == 0, "'%s' differs with %s, %s", line, set[i].locale, set[i].zone);
        free(there);
    }
    free(usual);
}
END_TEST

/* The same bytes under every name, and nothing beside them: two names for each writer, so that each name has several.
 */
START_TEST(a_file_may_be_called_anything)
{
    static const char *const names[] = {"with blanks ", "a'b\"c", "new\nline", "d\xC3\xBCnn",
                                        "bad\xFF",      "-x",     "%s%n",      "$HOME;`id`"};
    const char *line = writers[_i];
    char name[60];
    write_all();
    snprintf(name, sizeof name, "out.%s", ending(line));
    char *usual = written(line, name);
    for (size_t i = (size_t)_i; i < (size_t)_i + 2; i++) {
        const char *called = names[i % (sizeof names / sizeof names[0])];
        const size_t files = count_files();
        snprintf(name, sizeof name, "%s.%s", called, ending(line));
        char *there = written(line, name);
        ck_assert_msg(strcmp(usual, there) == 0, "'%s' differs as '%s'", line, name);
        ck_assert_uint_eq(count_files(), files + 1);
        free(there);
    }
    free(usual);
}
END_TEST

static void write_together(const char *line, bool same, const char *usual)
{
    const circumstances around = {.file_size = -1};
    char name[MOST_TOGETHER][40];
    pid_t child[MOST_TOGETHER];
    const size_t files = count_files();
    for (int i = 0; i < TOGETHER; i++) {
        snprintf(name[i], sizeof name[i], "%s%d.%s", same ? "same" : "own", same ? 0 : i, ending(line));
        child[i] = run_start(&around, line, name[i]);
    }
    for (int i = 0; i < TOGETHER; i++) {
        int status = -1;
        ck_assert_int_eq(waitpid(child[i], &status, 0), child[i]);
        ck_assert(WIFEXITED(status) && WEXITSTATUS(status) <= 1);
        ck_assert_msg(strcmp(content(name[i]), usual) == 0, "'%s %s' is not what one alone writes", line, name[i]);
    }
    ck_assert_uint_eq(count_files(), files + (size_t)(same ? 1 : TOGETHER));
}

/* At every moment the file is one of theirs, and no unfinished one is left. */
START_TEST(many_write_at_once)
{
    const char *line = writers[_i];
    char name[40];
    write_all();
    snprintf(name, sizeof name, "alone.%s", ending(line));
    char *usual = written(line, name);
    write_together(line, false, usual);
    write_together(line, true, usual);
    run("--version"); /* clears away what they said */
    free(usual);
}
END_TEST

Suite *written_suite(void)
{
    Suite *suite = suite_create("files written");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 600); /* with the sanitizers on a busy machine */
    tcase_add_loop_test(tcase, country_and_hour_do_not_show_in_a_file, 0, few_if_sanitized(WRITERS));
    tcase_add_loop_test(tcase, a_file_may_be_called_anything, 0, few_if_sanitized(WRITERS));
    tcase_add_loop_test(tcase, many_write_at_once, 0, 2); /* a picture and a page */
    suite_add_tcase(suite, tcase);
    return suite;
}
