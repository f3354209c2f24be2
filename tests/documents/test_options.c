/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static words in_help, in_page;

/* "--from NM" of each option in a help. */
static void options_of_help(const char *help, words *list)
{
    list->count = 0;
    for (const char *at = help; *at != '\0'; at += strcspn(at, "\n"), at += *at == '\n') {
        const size_t length = strcspn(at, "\n");
        const char *end = at + 2;
        if (strncmp(at, "  -", 3) != 0)
            continue;
        while (end < at + length && strncmp(end, "  ", 2) != 0)
            end++;
        add_word(list, at + 2, (size_t)(end - at - 2));
    }
}

/* The same of a page: each is the head of a .TP. */
static void options_of_page(const char *path, words *list)
{
    static const char head[] = "\n.TP\n\\fB\\-";
    char *text = read_file(path), line[LINE_LENGTH];
    list->count = 0;
    for (const char *at = text; (at = strstr(at, head)) != NULL; at++) {
        const char *start = at + 5;
        plain_line(start, strcspn(start, "\n"), line);
        add_word(list, line, strlen(line));
    }
    free(text);
}

START_TEST(page_and_help_have_the_same_options)
{
    const words *commands = all_commands();
    for (size_t v = 0; v < commands->count; v++) {
        const char *command = commands->word[v];
        char line[200], path[PATH_SIZE];
        snprintf(line, sizeof line, "%s --help", command);
        snprintf(path, sizeof path, MAN_DIR "/bloomcoat-%s.1", command);
        options_of_help(expect(0, NULL, line).out, &in_help);
        options_of_page(path, &in_page);
        ck_assert_uint_ge(in_help.count, 6);
        for (size_t i = 0; i < in_help.count; i++)
            ck_assert_msg(times_in(&in_page, in_help.word[i]) == 1, "%s: '%s' of the help is there %zu times", path,
                          in_help.word[i], times_in(&in_page, in_help.word[i]));
        for (size_t i = 0; i < in_page.count; i++)
            ck_assert_msg(times_in(&in_help, in_page.word[i]) == 1, "%s: '%s' is not in the help", path,
                          in_page.word[i]);
    }
}
END_TEST

START_TEST(every_page_is_of_something)
{
    const words *commands = all_commands();
    char *program = read_file(MAN_DIR "/bloomcoat.1");
    DIR *folder = opendir(MAN_DIR);
    const struct dirent *entry;
    size_t pages = 0;
    ck_assert_ptr_nonnull(folder);
    while ((entry = readdir(folder)) != NULL) {
        char name[WORD_SIZE], pointer[2 * WORD_SIZE], head[2 * WORD_SIZE], path[PATH_SIZE];
        const char *dot = strrchr(entry->d_name, '.');
        const char section = dot == NULL ? '\0' : dot[1];
        if (strncmp(entry->d_name, "bloomcoat-", 10) != 0)
            continue;
        pages++;
        ck_assert_msg(section == '1' || section == '5', "%s", entry->d_name);
        snprintf(name, sizeof name, "%.*s", (int)(dot - entry->d_name - 10), entry->d_name + 10);
        ck_assert_msg(section == '5' || times_in(commands, name) == 1, "%s is of no command", entry->d_name);
        /* the program's page leads to it, and it says its own name */
        snprintf(pointer, sizeof pointer, ".BR bloomcoat\\-%s (%c)", name, section);
        ck_assert_msg(strstr(program, pointer) != NULL, "bloomcoat.1 has no '%s'", pointer);
        snprintf(path, sizeof path, MAN_DIR "/%s", entry->d_name);
        snprintf(head, sizeof head, "\n.SH NAME\nbloomcoat\\-%s \\- ", name);
        char *text = read_file(path);
        ck_assert_msg(strstr(text, head) != NULL, "%s has another name in it", path);
        free(text);
    }
    closedir(folder);
    free(program);
    ck_assert_uint_eq(pages, commands->count + 10);
}
END_TEST

/* A release changes all of them. */
START_TEST(every_page_is_of_this_version)
{
    const char *version = expect(0, NULL, "--version").out;
    DIR *folder = opendir(MAN_DIR);
    const struct dirent *entry;
    char expected[80], date[40] = "";
    ck_assert_ptr_nonnull(folder);
    snprintf(expected, sizeof expected, "\"%.*s\"", (int)strcspn(version, "\n"), version);
    while ((entry = readdir(folder)) != NULL) {
        char path[PATH_SIZE], found[40];
        char *text, *head;
        if (strncmp(entry->d_name, "bloomcoat", 9) != 0)
            continue;
        snprintf(path, sizeof path, MAN_DIR "/%s", entry->d_name);
        text = read_file(path);
        head = strstr(text, "\n.TH ");
        ck_assert_msg(head != NULL && strstr(head, expected) != NULL, "%s: no %s", path, expected);
        ck_assert_int_eq(sscanf(head, " .TH %*s %*s %39s", found), 1);
        if (date[0] == '\0')
            strcpy(date, found);
        ck_assert_msg(strcmp(date, found) == 0, "%s is of %s, another of %s", path, found, date);
        free(text);
    }
    closedir(folder);
}
END_TEST

/* Where there is a formatter it has nothing to complain of. */
START_TEST(every_page_can_be_set)
{
    const char *complaint;
    const int code = shell("command -v groff >/dev/null || exit 0; for page in " MAN_DIR
                           "/*.[15]; do groff -man -ww -z \"$page\" >&2; done",
                           &complaint);
    ck_assert_msg(code == 0 && complaint[0] == '\0', "%.1000s", complaint);
}
END_TEST

/* All that a terminal shows of the help, whatever is in it: expect_narrow() would forgive a path. */
START_TEST(help_is_narrow)
{
    const words *commands = all_commands();
    for (size_t v = 0; v <= commands->count; v++) {
        char line[200];
        snprintf(line, sizeof line, "%s --help", v == commands->count ? "" : commands->word[v]);
        for (const char *at = expect(0, NULL, line).out; *at != '\0'; at += *at == '\n') {
            const size_t length = strcspn(at, "\n");
            ck_assert_msg(length <= 80, "%s: %.*s", line, (int)length, at);
            at += length;
        }
    }
}
END_TEST

/* What may be chosen stands in the help itself. */
START_TEST(help_names_what_may_be_chosen)
{
    static const char *const vague[] = {" KIND", " SHAPE", " AIM", " WHAT", " SIZE", " WORD", " TYPE"};
    const words *commands = all_commands();
    for (size_t v = 0; v < commands->count; v++) {
        char line[200];
        snprintf(line, sizeof line, "%s --help", commands->word[v]);
        options_of_help(expect(0, NULL, line).out, &in_help);
        for (size_t i = 0; i < in_help.count; i++)
            for (size_t k = 0; k < sizeof vague / sizeof vague[0]; k++)
                ck_assert_msg(strstr(in_help.word[i], vague[k]) == NULL, "%s: %s", commands->word[v], in_help.word[i]);
    }
}
END_TEST

Suite *options_suite(void)
{
    Suite *suite = suite_create("options");
    TCase *tcase = scratch_case("all");
    tcase_set_timeout(tcase, 300);
    tcase_add_test(tcase, page_and_help_have_the_same_options);
    tcase_add_test(tcase, every_page_is_of_something);
    tcase_add_test(tcase, every_page_is_of_this_version);
    tcase_add_test(tcase, every_page_can_be_set);
    tcase_add_test(tcase, help_is_narrow);
    tcase_add_test(tcase, help_names_what_may_be_chosen);
    suite_add_tcase(suite, tcase);
    return suite;
}
