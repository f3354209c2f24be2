/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "documents.h"
#include <bloomcoat/request.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The example of a page about a file, and a line that reads it as file.csv. */
typedef struct format {
    const char *page;
    size_t blocks;
    const char *line;
} format;

static const format formats[] = {
    {"stack", 3, "check file.csv --callouts callouts.csv"},
    {"callouts", 2, "check stack.csv --callouts file.csv"},
    {"process", 2, "deposit stack.csv --process file.csv --monitor-nm 550"},
    {"chamber", 1, "deposit stack.csv --chamber file.csv --monitor-nm 550"},
    {"material", 1, "materials file --tables ."},
    {"measured", 1, "inspect file.csv --stack stack.csv --callouts callouts.csv --aoi 8"},
    {"request", 1, "quote file.csv --max-layers 1 --effort 0.05"},
    {"profile", 1,
     "lens stack.csv --callouts callouts.csv --radius-mm 30 --clear-aperture-mm 20 --zones 5 --thickness-profile "
     "file.csv"},
};

START_TEST(the_example_file_is_read)
{
    const format *tried = &formats[_i];
    char path[PATH_SIZE];
    const blocks *all;
    write_inputs();
    snprintf(path, sizeof path, MAN_DIR "/bloomcoat-%s.5", tried->page);
    all = page_blocks(path);
    ck_assert_uint_eq(all->count, tried->blocks);
    for (size_t i = 0; i < all->count; i++) {
        outcome result;
        scratch_write("file.csv", all->block[i].lines);
        result = run(tried->line);
        ck_assert_msg(result.code == 0 || result.code == 1, "%s: %s", path, result.err);
    }
}
END_TEST

/* The names in "expected one of a, b, c" or "expected 'a', 'b' or 'c'". */
static void names_of(const char *message, words *names)
{
    const char *at = strstr(message, "; expected ");
    ck_assert_msg(at != NULL, "%s", message);
    names->count = 0;
    at += strlen("; expected ");
    at += strncmp(at, "one of ", 7) == 0 ? 7 : 0;
    while (*(at += strspn(at, "', \n")) != '\0') {
        const size_t length = strcspn(at, "', \n");
        if (length != 2 || strncmp(at, "or", 2) != 0)
            add_word(names, at, length);
        at += length;
    }
}

/* What the reader knows, it says when it refuses something else; the page has a place for each. */
START_TEST(every_column_has_its_place_in_the_page)
{
    static words names;
    const format *tried = &formats[_i];
    const bool by_key = strcmp(tried->page, "chamber") == 0;
    char path[PATH_SIZE];
    char *text;
    if (strcmp(tried->page, "measured") == 0)
        return; /* no columns of its own */
    write_inputs();
    scratch_write("file.csv", by_key ? "key,value\nnonsense,1\n" : "nonsense\n1\n");
    if (strcmp(tried->page, "request") == 0) { /* more keys than a sentence holds */
        names.count = 0;
        for (const char *const *key = bc_request_keys(); *key != NULL; key++)
            add_word(&names, *key, strlen(*key));
    } else {
        names_of(expect(2, "nonsense", tried->line).err, &names);
    }
    ck_assert_uint_ge(names.count, 3);
    snprintf(path, sizeof path, MAN_DIR "/bloomcoat-%s.5", tried->page);
    text = read_file(path);
    for (size_t i = 0; i < names.count; i++) {
        char place[5][WORD_SIZE + 16];
        bool found = false;
        snprintf(place[0], sizeof place[0], "\n.B %s\n", names.word[i]);
        snprintf(place[1], sizeof place[1], "\n.BR %s \"", names.word[i]);
        snprintf(place[2], sizeof place[2], ", \" %s\n", names.word[i]);
        snprintf(place[3], sizeof place[3], " or \" %s\n", names.word[i]);
        snprintf(place[4], sizeof place[4], ", \" %s \"", names.word[i]);
        for (size_t k = 0; k < 5; k++)
            found = found || strstr(text, place[k]) != NULL;
        ck_assert_msg(found, "%s has no %s", path, names.word[i]);
    }
    free(text);
}
END_TEST

Suite *formats_suite(void)
{
    Suite *suite = suite_create("formats");
    TCase *tcase = scratch_case("all");
    tcase_add_loop_test(tcase, the_example_file_is_read, 0, (int)(sizeof formats / sizeof formats[0]));
    tcase_add_loop_test(tcase, every_column_has_its_place_in_the_page, 0, (int)(sizeof formats / sizeof formats[0]));
    suite_add_tcase(suite, tcase);
    return suite;
}
