/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The shop's record as it is told: lists, an entry, a check, an entry computed again.
 */
#include "fixture.h"
#include <string.h>

#define SUM(digit)                                                                                                     \
    digit digit digit digit digit digit digit digit "0123456789abcdef0123456789abcdef0123456789abcdef01234567"

typedef struct kept {
    bc_record_line line[2];
    bc_record_file input[2], output[3], now[3];
    char *word[4];
    bool same[3];
    bc_record_entry entry;
    bc_record_again again;
} kept;

static void open_kept(kept *all)
{
    static char words[4][24] = {"check", "it's.csv", "--part", ""};
    *all = (kept){.line = {{"R-0001", "2026-11-02", "check", "check", "plain.csv", "met", "2.0", 0},
                           {"R-0002", "2026-11-03", "quote", "quote", "two, \"three\"\n", "not met", "2.1", 1}},
                  .input = {{"stack.csv", "stack\n", 6, SUM("a")}, {"tables", NULL, 0, SUM("b")}},
                  .output = {{"page.txt", "a page\n", 7, SUM("c")},
                             {NULL, "what was printed\n", 17, SUM("d")},
                             {"more.txt", "more\n", 5, SUM("e")}},
                  .same = {true, false, false}};
    for (size_t i = 0; i < 4; i++)
        all->word[i] = words[i];
    all->entry = (bc_record_entry){.line = all->line[0],
                                   .words = 4,
                                   .inputs = 2,
                                   .outputs = 3,
                                   .word = all->word,
                                   .input = all->input,
                                   .output = all->output};
    memcpy(all->now, all->output, sizeof all->now);
    strcpy(all->now[1].sha256, SUM("f"));
    all->again =
        (bc_record_again){.entry = &all->entry, .version = "2.0", .outputs = 2, .output = all->now, .same = all->same};
}

/* The text with its lines joined, for a piece may be broken anywhere. */
static void expect(bc_text *text, const char *piece, bool there)
{
    for (char *at = text->data; *at != '\0'; at++)
        *at = *at == '\n' ? ' ' : *at;
    ck_assert_msg((strstr(text->data, piece) != NULL) == there, "'%s' %s: %s", piece, there ? "is missing" : "is there",
                  text->data);
}

START_TEST(a_list_has_a_line_for_each_entry)
{
    kept all;
    bc_text text = {0};
    open_kept(&all);
    const bc_record_list none = {0}, list = {2, all.line};
    ck_assert_int_eq(bc_report_record_list_text(&list, &text, NULL), BC_OK);
    ck_assert_ptr_eq(strstr(text.data, "number"), text.data + strspn(text.data, " "));
    ck_assert_uint_eq(occurrences(text.data, "\n"), 3);
    ck_assert(strstr(text.data, "R-0001") < strstr(text.data, "plain.csv"));
    ck_assert(strstr(text.data, "plain.csv") < strstr(text.data, "R-0002"));
    expect_tidy(text.data);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_record_list_text(&none, &text, NULL), BC_OK);
    ck_assert_str_eq(text.data, "The record has no such entry.\n");
    bc_text_clear(&text);
}
END_TEST

/* Quotes where a cell has a comma, a quote or a line of its own, doubled inside: RFC 4180, 2, rules 5 to 7. */
START_TEST(a_list_as_csv)
{
    kept all;
    bc_text text = {0};
    open_kept(&all);
    const bc_record_list list = {2, all.line};
    ck_assert_int_eq(bc_report_record_list_csv(&list, &text, NULL), BC_OK);
    ck_assert_str_eq(text.data, "number,date,kind,command,subject,verdict,exit_code,version\n"
                                "R-0001,2026-11-02,check,check,plain.csv,met,0,2.0\n"
                                "R-0002,2026-11-03,quote,quote,\"two, \"\"three\"\"\n\",not met,1,2.1\n");
    bc_text_clear(&text);
}
END_TEST

START_TEST(a_list_in_json)
{
    kept all;
    bc_text text = {0};
    open_kept(&all);
    const bc_record_list list = {2, all.line};
    ck_assert_int_eq(bc_report_record_list_json(&list, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    const cJSON *entries = cJSON_GetObjectItem(root, "entries");
    ck_assert_int_eq(cJSON_GetArraySize(entries), 2);
    for (int i = 0; i < 2; i++) {
        const cJSON *entry = cJSON_GetArrayItem(entries, i);
        ck_assert_str_eq(string_of(entry, "number"), all.line[i].number);
        ck_assert_str_eq(string_of(entry, "subject"), all.line[i].subject);
        ck_assert_str_eq(string_of(entry, "verdict"), all.line[i].verdict);
        ck_assert_double_eq(number_of(entry, "exit_code"), i);
    }
    cJSON_Delete(root);
    bc_text_clear(&text);
}
END_TEST

/* The command line as a shell takes it, the files but no folder, and at the end what was printed: not what was written
 * into a file, and no picture. */
START_TEST(an_entry_in_words)
{
    static const char end[] = "\n\nwhat was printed\n";
    kept all;
    bc_text text = {0};
    open_kept(&all);
    ck_assert_int_eq(bc_report_record_entry_text(&all.entry, &text, NULL), BC_OK);
    ck_assert_str_eq(text.data + text.length - strlen(end), end);
    expect(&text, "R-0001 of 2026-11-02: check, met (exit code 0), by bloomcoat 2.0.", true);
    expect(&text, "bloomcoat check 'it'\\''s.csv' --part ''", true);
    expect(&text, "aaaaaaaa0123         6 bytes  stack.csv ", true);
    expect(&text, "tables", false);
    expect(&text, "        7 bytes  page.txt ", true);
    expect(&text, "       17 bytes  (standard output) ", true);
    expect(&text, "a page", false);
    bc_text_clear(&text);
    all.output[1].bytes = "what was\0printed\n"; /* as a picture's */
    ck_assert_int_eq(bc_report_record_entry_text(&all.entry, &text, NULL), BC_OK);
    expect(&text, "(standard output)", true);
    expect(&text, "what was", false);
    ck_assert_uint_eq(strlen(text.data), text.length);
    bc_text_clear(&text);
}
END_TEST

START_TEST(an_entry_in_json)
{
    kept all;
    bc_text text = {0};
    open_kept(&all);
    ck_assert_int_eq(bc_report_record_entry_json(&all.entry, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    const cJSON *words = cJSON_GetObjectItem(root, "command_line"), *inputs = cJSON_GetObjectItem(root, "inputs");
    const cJSON *outputs = cJSON_GetObjectItem(root, "outputs");
    ck_assert_str_eq(string_of(root, "kind"), "check");
    ck_assert_int_eq(cJSON_GetArraySize(words), 4);
    ck_assert_str_eq(cJSON_GetArrayItem(words, 1)->valuestring, "it's.csv");
    ck_assert_int_eq(cJSON_GetArraySize(inputs), 1); /* without the folder */
    ck_assert_str_eq(string_of(inputs->child, "file"), "stack.csv");
    ck_assert_str_eq(string_of(inputs->child, "sha256"), SUM("a"));
    ck_assert_double_eq(number_of(inputs->child, "bytes"), 6.0);
    ck_assert_int_eq(cJSON_GetArraySize(outputs), 3);
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(cJSON_GetArrayItem(outputs, 1), "file")));
    ck_assert_double_eq(number_of(cJSON_GetArrayItem(outputs, 1), "bytes"), 17.0);
    cJSON_Delete(root);
    bc_text_clear(&text);
}
END_TEST

/* Loop: whole, and with two faults. */
START_TEST(a_check_of_all)
{
    char *fault[] = {"entry R-0001 is torn", "file aaaa is short"};
    const bc_record_check check = {.entries = _i == 0 ? 1 : 12,
                                   .files = _i == 0 ? 1 : 30,
                                   .bytes = 2.5e6,
                                   .faults = 2 * (size_t)_i,
                                   .fault = fault};
    bc_text text = {0};
    ck_assert_int_eq(bc_report_record_check_text("shop.record", &check, &text, NULL), BC_OK);
    expect(&text,
           _i == 0 ? "shop.record: 1 entry, 1 stored file of 2.5 MB:" : "12 entries, 30 stored files of 2.5 MB:", true);
    expect(&text, "is whole", _i == 0);
    expect(&text, "it is damaged", _i == 1);
    expect(&text, fault[0], _i == 1);
    expect(&text, fault[1], _i == 1);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_record_check_json("shop.record", &check, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    const cJSON *faults = cJSON_GetObjectItem(root, "faults");
    ck_assert_str_eq(string_of(root, "record_file"), "shop.record");
    ck_assert_double_eq(number_of(root, "count"), (double)check.entries);
    ck_assert_double_eq(number_of(root, "files"), (double)check.files);
    ck_assert_double_eq(number_of(root, "bytes"), 2.5e6);
    ck_assert_int_eq(cJSON_GetArraySize(faults), 2 * _i);
    ck_assert(_i == 0 || strcmp(cJSON_GetArrayItem(faults, 1)->valuestring, fault[1]) == 0);
    cJSON_Delete(root);
    bc_text_clear(&text);
}
END_TEST

/* Loop: the same by the same version, the same by another; not the same by another, by time, and for no known reason.
 */
START_TEST(an_entry_computed_again)
{
    static const struct {
        bool all_same, by_time;
        const char *version, *told;
    } rows[] = {
        {true, false, "2.0", "byte for byte the same."},
        {true, true, "2.5", "byte for byte the same, though it was made by bloomcoat 2.0 and computed again by 2.5."},
        {false, true, "2.5", "NOT the same. It was made by bloomcoat 2.0, and computed again by 2.5."},
        {false, true, "2.0", "NOT the same. Its search was ended by --seconds"},
        {false, false, "2.0", "NOT the same. The version is the same: another kind of processor"}};
    kept all;
    bc_text text = {0};
    open_kept(&all);
    all.again.all_same = rows[_i].all_same;
    all.again.by_time = rows[_i].by_time;
    all.again.version = rows[_i].version;
    all.again.exit_code = rows[_i].all_same ? 0 : 1;
    ck_assert_int_eq(bc_report_record_again_text(&all.again, &text, NULL), BC_OK);
    ck_assert_ptr_nonnull(strstr(text.data, "\n  the same   page.txt\n"));
    ck_assert_ptr_nonnull(strstr(text.data, "\n  DIFFERENT  (standard output)\n"));
    ck_assert_ptr_nonnull(strstr(text.data, "\n  missing    more.txt\n"));
    expect(&text, "R-0001 of 2026-11-02, computed again from its stored files: ", true);
    expect(&text, rows[_i].told, true);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        expect(&text, rows[i].told, i == (size_t)_i);
    expect(&text, "  exit code 0, and now 1 ", !rows[_i].all_same);
    bc_text_clear(&text);
    ck_assert_int_eq(bc_report_record_again_json(&all.again, &text, NULL), BC_OK);
    cJSON *root = parse(&text);
    const cJSON *compared = cJSON_GetObjectItem(root, "compared");
    ck_assert_str_eq(string_of(root, "recorded_version"), "2.0");
    ck_assert_str_eq(string_of(root, "version"), rows[_i].version);
    ck_assert_int_eq(cJSON_IsTrue(cJSON_GetObjectItem(root, "same")), rows[_i].all_same);
    ck_assert_double_eq(number_of(root, "exit_code"), rows[_i].all_same ? 0.0 : 1.0);
    ck_assert_double_eq(number_of(root, "recorded_exit_code"), 0.0);
    ck_assert_int_eq(cJSON_GetArraySize(compared), 3);
    ck_assert(cJSON_IsTrue(cJSON_GetObjectItem(compared->child, "same")));
    ck_assert(cJSON_IsFalse(cJSON_GetObjectItem(cJSON_GetArrayItem(compared, 1), "same")));
    ck_assert_str_eq(string_of(cJSON_GetArrayItem(compared, 1), "recorded_sha256"), SUM("d"));
    ck_assert_str_eq(string_of(cJSON_GetArrayItem(compared, 1), "sha256"), SUM("f"));
    ck_assert(cJSON_IsNull(cJSON_GetObjectItem(cJSON_GetArrayItem(compared, 2), "sha256"))); /* not written again */
    cJSON_Delete(root);
    bc_text_clear(&text);
}
END_TEST

Suite *record_suite(void)
{
    Suite *suite = suite_create("record");
    TCase *tcase = tcase_create("all");
    tcase_add_test(tcase, a_list_has_a_line_for_each_entry);
    tcase_add_test(tcase, a_list_as_csv);
    tcase_add_test(tcase, a_list_in_json);
    tcase_add_test(tcase, an_entry_in_words);
    tcase_add_test(tcase, an_entry_in_json);
    tcase_add_loop_test(tcase, a_check_of_all, 0, 2);
    tcase_add_loop_test(tcase, an_entry_computed_again, 0, 5);
    suite_add_tcase(suite, tcase);
    return suite;
}
