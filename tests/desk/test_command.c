/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "command.h"
#include "desk_suites.h"
#include <string.h>

static const char *const tables[] = {"/opt/our tables"};
static const desk_options options = {.shop = "/srv/shop", .tables = 1, .table = tables};

static bc_status make(const char *json, desk_command *command, cJSON **request)
{
    *request = cJSON_Parse(json);
    ck_assert_msg(*request != NULL, "%s", json);
    return desk_command_make(*request, &options, command, NULL);
}

/* The words, joined by bars, and the line to copy. */
static void expect(const char *json, const char *words, const char *line)
{
    desk_command command;
    cJSON *request;
    bc_text copied = {0};
    char joined[1000] = "";
    ck_assert_int_eq(make(json, &command, &request), BC_OK);
    for (size_t i = 0; i < command.words; i++) {
        strcat(joined, i == 0 ? "" : "|");
        strcat(joined, command.word[i]);
    }
    ck_assert_str_eq(joined, words);
    ck_assert_int_eq(desk_command_line(&command, &copied, NULL), BC_OK);
    ck_assert_str_eq(copied.data, line);
    bc_text_clear(&copied);
    desk_command_clear(&command);
    cJSON_Delete(request);
}

START_TEST(a_request_becomes_a_command_line)
{
    expect("{\"command\": \"check\", \"operands\": [\"stack.csv\"], \"files\": {\"stack.csv\": \"YQ==\"}, \"options\": "
           "[[\"callout\", \"R < 1 %, it's\"], [\"json\", null]], \"results\": [\"p.svg\"]}",
           "bloomcoat|check|--tables=/opt/our tables|--shop=/srv/shop|--callout=R < 1 %, it's|--json|--|stack.csv",
           "bloomcoat check stack.csv --tables '/opt/our tables' --shop /srv/shop --callout 'R < 1 %, it'\\''s'");
    expect("{\"command\": \"callouts\", \"operands\": [\"-o/etc/passwd\"]}",
           "bloomcoat|callouts|--tables=/opt/our tables|--shop=/srv/shop|--|-o/etc/passwd",
           "bloomcoat callouts --tables '/opt/our tables' --shop /srv/shop -- -o/etc/passwd");
    expect("{\"command\": \"spectrum\", \"options\": [[\"o\", \"s.csv\"]], \"results\": [\"s.csv\"]}",
           "bloomcoat|spectrum|--tables=/opt/our tables|--shop=/srv/shop|-os.csv|--",
           "bloomcoat spectrum --tables '/opt/our tables' --shop /srv/shop -os.csv");
}
END_TEST

/* Whatever would name a file outside, run something else or write where it should not. */
START_TEST(what_is_not_on_the_list_is_refused)
{
    static const char *const wrong[] = {
        "{}",
        "{\"command\": 3}",
        "{\"command\": \"desk\"}",
        "{\"command\": \"shop\", \"operands\": [\"init\", \"x\"]}",
        "{\"command\": \"shop\"}",
        "{\"command\": \"record\", \"operands\": [\"export\"]}",
        "{\"command\": \"record\", \"operands\": [\"lis\"]}",
        "{\"command\": \"standard\", \"operands\": [\"add\", \"x\"]}",
        "{\"command\": \"check\", \"operands\": [\"/etc/passwd\"]}",
        "{\"command\": \"check\", \"operands\": [\"stack.csv\"]}",
        "{\"command\": \"check\", \"operands\": [\"../stack.csv\"], \"files\": {\"../stack.csv\": \"\"}}",
        "{\"command\": \"check\", \"files\": {\"a/b\": \"\"}}",
        "{\"command\": \"check\", \"files\": {\".hidden\": \"\"}}",
        "{\"command\": \"check\", \"files\": {\"-o\": \"\"}}",
        "{\"command\": \"check\", \"files\": {\"\": \"\"}}",
        "{\"command\": \"check\", \"files\": {\"a\": \"\", \"a\": \"\"}}",
        "{\"command\": \"check\", \"files\": {\"a\": 3}}",
        "{\"command\": \"check\", \"files\": {\"a\": \"\"}, \"results\": [\"a\"]}",
        "{\"command\": \"check\", \"results\": [\"/tmp/x\"]}",
        "{\"command\": \"check\", \"results\": [\"x\", \"x\"]}",
        "{\"command\": \"check\", \"results\": [null]}",
        "{\"command\": \"check\", \"options\": [[\"o\", \"x.csv\"]]}",
        "{\"command\": \"check\", \"options\": [[\"tables\", \"x\"]]}",
        "{\"command\": \"check\", \"options\": [[\"shop\", \"/srv\"]]}",
        "{\"command\": \"check\", \"options\": [[\"callouts\", \"/etc/passwd\"]]}",
        "{\"command\": \"check\", \"options\": [[\"substrate\", \"../x\"]]}",
        "{\"command\": \"check\", \"options\": [[\"substrate\", \"/x\"]]}",
        "{\"command\": \"check\", \"options\": [[\"back\", \".x\"]]}",
        "{\"command\": \"check\", \"options\": [[\"json\", \"yes\"]]}",
        "{\"command\": \"check\", \"options\": [[\"callout\"]]}",
        "{\"command\": \"check\", \"options\": [[\"callout\", \"\"]]}",
        "{\"command\": \"check\", \"options\": [[\"callout\", \"a\\nb\"]]}",
        "{\"command\": \"check\", \"options\": [[]]}",
        "{\"command\": \"check\", \"options\": [3]}",
        "{\"command\": \"inspect\", \"options\": [[\"reference\", \"x.csv\"]]}",
        "{\"command\": \"record\", \"operands\": [\"show\", \"Q-1\"], \"options\": [[\"files\", \"x\"]]}",
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        desk_command command;
        cJSON *request;
        ck_assert_msg(make(wrong[i], &command, &request) == BC_ERROR_INPUT, "%s", wrong[i]);
        desk_command_clear(&command);
        cJSON_Delete(request);
    }
}
END_TEST

/* Scans keep whatever encoding they have, zeros included. */
START_TEST(files_are_bytes)
{
    desk_command command;
    cJSON *request;
    ck_assert_int_eq(make("{\"command\": \"inspect\", \"operands\": [\"a.txt\"], \"files\": {\"a.txt\": \"AP+yQQ==\", "
                          "\"b.txt\": \"\"}}",
                          &command, &request),
                     BC_OK);
    ck_assert_uint_eq(command.length[0], 4);
    ck_assert_mem_eq(command.contents[0], "\0\377\262A", 4);
    ck_assert_uint_eq(command.length[1], 0);
    desk_command_clear(&command);
    cJSON_Delete(request);
}
END_TEST

Suite *command_suite(void)
{
    Suite *suite = suite_create("command");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, a_request_becomes_a_command_line);
    tcase_add_test(tcase, what_is_not_on_the_list_is_refused);
    tcase_add_test(tcase, files_are_bytes);
    suite_add_tcase(suite, tcase);
    return suite;
}
