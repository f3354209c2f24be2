/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <ctype.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* "name=" at the start of a line: what later lines of its block, and of the text, use. */
static bool is_assignment(const char *line)
{
    size_t length = 0;
    while (islower((unsigned char)line[length]) || line[length] == '_')
        length++;
    return length > 0 && line[length] == '=';
}

/* 1 where the words before it, or the comment behind it, say so. */
static int stated_code(const char *about, const char *line)
{
    const char *comment = strstr(line, " # ");
    return strstr(about, "exit code 1") != NULL || (comment != NULL && strstr(comment, "exit code 1") != NULL);
}

static size_t run_line(const char *where, const char *about, const char *assigned, const char *line)
{
    char command[4 * LINE_LENGTH];
    const char *complaint;
    const int expected = stated_code(about, line);
    int code;
    if (strncmp(line, "bloomcoat ", 10) != 0)
        return 0; /* building and installing is tried by tests/run.sh and the suite of what is installed */
    /* a desk is open until someone ends it */
    snprintf(command, sizeof command, "%s%s%s", assigned, line,
             strncmp(line, "bloomcoat desk", 14) == 0 ? " --no-browser --seconds 0" : "");
    code = shell(command, &complaint);
    ck_assert_msg(code == expected, "%s: '%s' ended with %d, not %d: %s", where, line, code, expected, complaint);
    return 1;
}

/* Every command of the program in these blocks; their number. */
static size_t run_blocks(const char *where, const blocks *all)
{
    char assigned[2 * LINE_LENGTH] = "";
    size_t commands = 0;
    for (size_t i = 0; i < all->count; i++) {
        char copy[4 * LINE_LENGTH], *rest = copy, *line;
        strcpy(copy, all->block[i].lines);
        while ((line = strtok_r(rest, "\n", &rest)) != NULL) {
            const size_t length = strlen(assigned);
            if (is_assignment(line))
                snprintf(assigned + length, sizeof assigned - length, "%s\n", line);
            commands += run_line(where, all->block[i].about, assigned, line);
        }
    }
    return commands;
}

START_TEST(the_examples_of_every_help_work)
{
    const words *commands = all_commands();
    for (size_t v = 0; v <= commands->count; v++) {
        char line[200], copy[16 * LINE_LENGTH], joined[4 * LINE_LENGTH] = "";
        const char *command = v == commands->count ? "" : commands->word[v], *example;
        snprintf(line, sizeof line, "%s --help", command);
        snprintf(copy, sizeof copy, "%s", expect(0, NULL, line).out);
        example = strstr(copy, "\nExample");
        ck_assert_msg(example != NULL && strstr(example, "bloomcoat ") != NULL, "%s has none", line);
        ck_assert_msg(strstr(example, "build/") == NULL, "%s needs a demo that has run", line);
        example = strstr(example, "bloomcoat ");
        for (size_t i = 0; *example != '\0'; example++)
            if (strncmp(example, "\\\n", 2) != 0)
                joined[i++] = *example;
            else
                example++;
        joined[strcspn(joined, "\n")] = '\0';
        ck_assert_uint_eq(run_line(line, "", "", joined), 1);
        ck_assert_msg(strncmp(joined + 10, command, strlen(command)) == 0, "%s shows another command: %s", line,
                      joined);
    }
}
END_TEST

START_TEST(the_examples_of_every_page_work)
{
    DIR *folder = opendir(MAN_DIR);
    const struct dirent *entry;
    size_t pages = 0;
    ck_assert_ptr_nonnull(folder);
    while ((entry = readdir(folder)) != NULL) {
        const char *dot = strrchr(entry->d_name, '.');
        char path[PATH_SIZE];
        if (strncmp(entry->d_name, "bloomcoat", 9) != 0 ||
            (strcmp(dot, ".1") != 0 && strcmp(entry->d_name, "bloomcoat-json.5") != 0))
            continue;
        snprintf(path, sizeof path, MAN_DIR "/%s", entry->d_name);
        ck_assert_msg(run_blocks(path, page_blocks(path)) > 0, "%s has no example", path);
        pages++;
    }
    closedir(folder);
    ck_assert_uint_gt(pages, 10);
}
END_TEST

START_TEST(the_commands_of_the_readme_work)
{
    ck_assert_uint_ge(run_blocks("README.md", markdown_blocks(BC_SOURCE_DIR "/README.md")), 5);
}
END_TEST

START_TEST(the_commands_of_the_examples_readme_work)
{
    ck_assert_uint_ge(run_blocks("examples/README.md", markdown_blocks(BC_SOURCE_DIR "/examples/README.md")), 5);
}
END_TEST

Suite *examples_suite(void)
{
    Suite *suite = suite_create("examples");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 900); /* with the sanitizers on a busy machine */
    tcase_add_test(tcase, the_examples_of_every_help_work);
    if (MANY_OR_FEW(true, false)) { /* the same commands on the same demo: one text is enough for the sanitizers */
        tcase_add_test(tcase, the_commands_of_the_examples_readme_work);
        tcase_add_test(tcase, the_examples_of_every_page_work);
        tcase_add_test(tcase, the_commands_of_the_readme_work);
    }
    suite_add_tcase(suite, tcase);
    return suite;
}
