/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "answer.h"
#include <string.h>

cJSON *parse(const char *text)
{
    cJSON *root = cJSON_ParseWithOpts(text, NULL, 1);
    ck_assert_msg(root != NULL, "no JSON: %s", text);
    return root;
}

const cJSON *item_of(const cJSON *object, const char *name)
{
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    ck_assert_msg(item != NULL, "no '%s'", name);
    return item;
}

double number_of(const cJSON *object, const char *name)
{
    const cJSON *item = item_of(object, name);
    ck_assert_msg(cJSON_IsNumber(item), "'%s' is no number", name);
    return item->valuedouble;
}

const char *string_of(const cJSON *object, const char *name)
{
    const cJSON *item = item_of(object, name);
    ck_assert_msg(cJSON_IsString(item), "'%s' is no string", name);
    return item->valuestring;
}

const cJSON *array_of(const cJSON *object, const char *name)
{
    const cJSON *item = item_of(object, name);
    ck_assert_msg(cJSON_IsArray(item), "'%s' is no array", name);
    return item;
}

bool any_says(const cJSON *array, const char *piece)
{
    const cJSON *item;
    cJSON_ArrayForEach(item, array) if (cJSON_IsString(item) && strstr(item->valuestring, piece) != NULL) return true;
    return false;
}

void expect_narrow(const char *text)
{
    while (*text != '\0') {
        const size_t length = strcspn(text, "\n");
        ck_assert_msg(length <= 80 || memchr(text, '/', length) != NULL, "%zu columns: %.*s", length, (int)length,
                      text);
        text += length + (text[length] == '\n');
    }
}

void expect_piece(const outcome *result, const char *piece)
{
    static char joined[20000];
    size_t length = 0;
    expect_narrow(result->out);
    ck_assert_uint_lt(strlen(result->out), sizeof joined);
    for (const char *at = result->out; *at != '\0'; at++) {
        const char byte = *at == '\n' ? ' ' : *at;
        if (byte != ' ' || length == 0 || joined[length - 1] != ' ')
            joined[length++] = byte;
    }
    joined[length] = '\0';
    ck_assert_msg(strstr(joined, piece) != NULL, "no '%s' in: %s", piece, result->out);
}
