/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_phrases.h"
#include "escaped.h"
#include "number.h"
#include "print.h"
#include "utf8.h"
#include <ctype.h>
#include <stdarg.h>
#include <string.h>

#define EXCERPT_COLUMNS 60 /* of a long text, what stands around the caret */

/* Where the symbol of a quantity at the start ends: "R", "rho"; 0 when there is none. Only capitals of single letters:
 * "a" is an article. */
static size_t symbol_length(const char *text, bc_quantity *quantity)
{
    static const struct {
        const char *symbol;
        bc_quantity quantity;
    } symbols[] = {{"R", BC_R},   {"T", BC_T},        {"A", BC_A},       {"rho", BC_R},
                   {"tau", BC_T}, {"\xCF\x81", BC_R}, {"\xCF\x84", BC_T}};
    for (size_t i = 0; i < sizeof symbols / sizeof symbols[0]; i++) {
        const size_t length = strlen(symbols[i].symbol);
        if (strncmp(text, symbols[i].symbol, length) == 0) {
            *quantity = symbols[i].quantity;
            return length;
        }
    }
    return 0;
}

static void add(bc_token *token, size_t *count, bc_token_kind kind, int choice, size_t at, size_t length)
{
    token[(*count)++] = (bc_token){.kind = kind, .choice = choice, .at = at, .length = length};
}

/* Of "Ts/Tp", of which `symbol` is the first T, what follows it: "s/Tp"; also "_s / T_p". 0: there is no such ratio. */
static size_t ratio_length(const char *symbol, size_t length)
{
    size_t at = length + (symbol[length] == '_');
    if (symbol[at++] != 's')
        return 0;
    at += bc_blank_length(symbol + at);
    if (symbol[at++] != '/')
        return 0;
    at += bc_blank_length(symbol + at);
    if (strncmp(symbol + at, symbol, length) != 0)
        return 0;
    at += length;
    at += symbol[at] == '_';
    return symbol[at] == 'p' && !bc_is_letter(symbol[at + 1]) ? at + 1 - length : 0;
}

/* "R", and what is written onto it: "Ravg", "R_max", "Rs", "Rp,avg" (up to the comma), "Rv". 0: no quantity. */
static size_t read_quantity(const char *text, size_t at, bc_token *token, size_t *count)
{
    bc_quantity quantity = BC_R;
    const size_t before = *count;
    size_t end = symbol_length(text + at, &quantity);
    if (end == 0)
        return 0;
    add(token, count, BC_TOKEN_QUANTITY, (int)quantity, at, end);
    const size_t ratio = ratio_length(text + at, end);
    if (ratio > 0) {
        add(token, count, BC_TOKEN_POLARIZATION, BC_POL_RATIO, at + end, ratio);
        return end + ratio;
    }
    for (bool more = true; more && (bc_is_letter(text[at + end]) || text[at + end] == '_');) {
        const size_t from = end + (text[at + end] == '_');
        const char letter = (char)tolower((unsigned char)text[at + from]);
        size_t length = 0;
        const bc_phrase *found = bc_longest_phrase(text + at + from, &length);
        more = found != NULL && (found->kind == BC_TOKEN_STATISTIC || found->kind == BC_TOKEN_POLARIZATION);
        if (more) {
            add(token, count, found->kind, found->choice, at + from, length);
        } else if (letter == 'v') { /* "Rv": of the eye, V(lambda) */
            length = 1;
            more = true;
            add(token, count, BC_TOKEN_STATISTIC, BC_STATED_LUMINOUS, at + from, length);
        } else if (letter == 's' || letter == 'p') { /* "Rsavg" */
            length = 1;
            more = true;
            add(token, count, BC_TOKEN_POLARIZATION, letter == 's' ? BC_POL_S : BC_POL_P, at + from, length);
        }
        end = more ? from + length : end;
    }
    if (bc_is_letter(text[at + end]) || text[at + end] == '_') {
        *count = before;
        return 0;
    }
    return end;
}

/* A number with a point or a comma. A comma that could also part thousands, or the items of a list, is asked about. */
static bc_status read_number(const char *text, size_t at, bc_token *token, size_t *count, bc_error *error)
{
    char digits[64];
    size_t end = at, whole, decimals = 0;
    while (isdigit((unsigned char)text[end]))
        end++;
    whole = end - at;
    const char mark = text[end];
    if ((mark == '.' || mark == ',') && isdigit((unsigned char)text[end + 1])) {
        for (end++; isdigit((unsigned char)text[end]); end++)
            decimals++;
        if (mark == ',' && decimals >= 3 && text[at] != '0')
            return bc_callout_ask(
                text, at, error,
                "'%.*s' may have a decimal comma, or one that parts thousands or two numbers; expected a decimal "
                "point, or a number without the comma",
                (int)(end - at), text + at);
        if ((text[end] == ',' || text[end] == '.') && isdigit((unsigned char)text[end + 1]))
            return bc_callout_ask(text, at, error,
                                  "more than one comma or point in a number; expected one, and blanks after the commas "
                                  "of a list");
    }
    if (end - at >= sizeof digits)
        return bc_callout_ask(text, at, error, "too many digits; expected a number of at most %zu", sizeof digits - 1);
    memcpy(digits, text + at, end - at);
    digits[end - at] = '\0';
    if (decimals > 0)
        digits[whole] = '.';
    add(token, count, BC_TOKEN_NUMBER, 0, at, end - at);
    token[*count - 1].comma = decimals > 0 && mark == ',';
    if (bc_number_parse(digits, 0, &token[*count - 1].value) != BC_NUMBER_OK)
        return bc_callout_ask(text, at, error, "'%s' is out of range; expected an ordinary number", digits);
    return BC_OK;
}

/* The name behind "weighted by": of a weight that comes with the program, since words have no folders of tables. */
static bc_status read_weight(const char *text, size_t *at, bc_token *token, bc_error *error)
{
    char name[BC_WEIGHT_NAME_SIZE];
    size_t length;
    while (bc_blank_length(text + *at) > 0 || text[*at] == ':' || text[*at] == '=')
        *at += bc_blank_length(text + *at) > 0 ? bc_blank_length(text + *at) : 1;
    length = strspn(text + *at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-+*");
    bc_print(name, sizeof name, "%.*s", (int)length, text + *at);
    token->weight = bc_weight_shipped(name);
    if (token->weight == NULL)
        return bc_callout_ask(text, *at, error,
                              "expected a weight: photopic, scotopic, D65, A, D50, or a lamp and an eye as in "
                              "D65*photopic; a table of your own goes into a callouts file");
    *at += length;
    return BC_OK;
}

static bc_status check_text(const char *text, bc_error *error)
{
    const size_t length = strlen(text);
    if (length >= BC_CALLOUT_WORDS_SIZE)
        return bc_fail(error, BC_ERROR_INPUT, "found %zu bytes; expected a callout of at most %d", length,
                       BC_CALLOUT_WORDS_SIZE - 1);
    for (size_t at = 0, taken; at < length; at += taken) {
        taken = bc_utf8_decode(text + at, length - at, NULL);
        if (taken == 0)
            return bc_fail(error, BC_ERROR_INPUT,
                           "byte %zu: found byte 0x%02X, which is not UTF-8; expected text in UTF-8", at + 1,
                           (unsigned char)text[at]);
        if ((unsigned char)text[at] < 0x20 && strchr("\t\r\n", text[at]) == NULL)
            return bc_fail(error, BC_ERROR_INPUT, "byte %zu: found a control character; expected text", at + 1);
    }
    return BC_OK;
}

/* How much of the text is one word that is not understood. */
static int unknown_length(const char *text)
{
    size_t length = 0;
    if (!bc_is_letter(text[0]))
        return (int)bc_utf8_decode(text, strlen(text), NULL);
    while (length < 40 && (bc_is_letter(text[length]) || text[length] == '_'))
        length++;
    return (int)length;
}

static bc_status ask_word(const char *text, size_t at, bc_error *error)
{
    char word[48], shown[BC_ESCAPED_SIZE];
    if (text[at] == '/')
        return bc_callout_ask(
            text, at, error,
            "expected a ratio of s to p, as in Ts/Tp >= 0.98: Tp/Ts of at most L is Ts/Tp of at least "
            "1/L");
    bc_print(word, sizeof word, "%.*s", unknown_length(text + at), text + at);
    return bc_callout_ask(
        text, at, error,
        "'%s' is not among the words read here; expected limits (Ravg <= 0.5 %%), wavelengths with nm "
        "or um, angles with deg, s, p, s/p or unpolarized, per surface or per part",
        bc_escaped(word, shown));
}

static bc_status read_token(const char *text, size_t *at, bc_token *token, size_t *count, bc_error *error)
{
    size_t length = read_quantity(text, *at, token, count);
    const bc_phrase *found;
    if (length > 0) {
        *at += length;
        return BC_OK;
    }
    found = bc_longest_phrase(text + *at, &length);
    const bool is_number =
        isdigit((unsigned char)text[*at]) || (text[*at] == '.' && isdigit((unsigned char)text[*at + 1]));
    if (is_number && (found == NULL || found->kind != BC_TOKEN_OBSERVER)) { /* "2 deg observer" is one phrase */
        const bc_status status = read_number(text, *at, token, count, error);
        *at += status == BC_OK ? token[*count - 1].length : 0;
        return status;
    }
    if (found == NULL)
        return ask_word(text, *at, error);
    add(token, count, found->kind, found->choice, *at, length);
    token[*count - 1].value = found->value;
    *at += length;
    return found->kind == BC_TOKEN_WEIGHT ? read_weight(text, at, &token[*count - 1], error) : BC_OK;
}

/* "between 400 and 700 nm" is a range: its "and" becomes "to". */
static bc_status join_between(const char *text, bc_token *token, size_t count, bc_error *error)
{
    for (size_t i = 0; i + 1 < count; i++) {
        size_t at = i + 1;
        if (token[i].kind != BC_TOKEN_FILLER || token[i].choice != BC_FILLER_BETWEEN)
            continue;
        while (token[at].kind == BC_TOKEN_FILLER || token[at].kind == BC_TOKEN_ANGLE) /* "between wavelengths of" */
            at++;
        const bool number = token[at].kind == BC_TOKEN_NUMBER;
        at += number;
        if (token[at].kind == BC_TOKEN_LENGTH || token[at].kind == BC_TOKEN_DEGREE)
            at++;
        const bool joined = token[at].kind == BC_TOKEN_TO || (token[at].kind == BC_TOKEN_AND && token[at].length > 0 &&
                                                              strchr(",:()[]", text[token[at].at]) == NULL);
        if (!number || !joined || token[at + 1].kind != BC_TOKEN_NUMBER)
            return bc_callout_ask(
                text, token[i].at, error,
                "'between' needs two wavelengths or two angles; expected words such as 'between 400 and 700 nm'");
        token[at].kind = BC_TOKEN_TO;
    }
    return BC_OK;
}

bc_status bc_callout_tokens(const char *text, bc_token *token, size_t *count, bc_error *error)
{
    bc_status status = check_text(text, error);
    *count = 0;
    for (size_t at = 0; status == BC_OK && text[at] != '\0';) {
        const size_t blank = bc_blank_length(text + at);
        /* "R avg. <= 0.5 %": the point of an abbreviation, or of a sentence */
        const bool point = text[at] == '.' && text[at + 1] != '.' && !isdigit((unsigned char)text[at + 1]);
        if (blank > 0 || point)
            at += blank > 0 ? blank : 1;
        else
            status = read_token(text, &at, token, count, error);
    }
    if (status != BC_OK)
        return status;
    add(token, count, BC_TOKEN_NOTE_END, 0, strlen(text), 0);
    return join_between(text, token, *count, error);
}

/* The columns of `text` up to byte `at`, one for each character. */
static size_t columns_before(const char *text, size_t at)
{
    size_t columns = 0;
    for (size_t i = 0; i < at; i++)
        columns += ((unsigned char)text[i] & 0xC0) != 0x80;
    return columns;
}

/* The line of the text that byte `at` is in, its part around the caret, and the caret. */
static void add_excerpt(const char *text, size_t at, char *out, size_t size)
{
    char piece[4 * EXCERPT_COLUMNS + 1], escaped[BC_ESCAPED_SIZE];
    size_t from = at, to = at, length = 0, caret = 0;
    while (from > 0 && text[from - 1] != '\n' && columns_before(text + from, at - from) < EXCERPT_COLUMNS / 2)
        from--;
    while (from < at && ((unsigned char)text[from] & 0xC0) == 0x80)
        from++;
    while (text[to] != '\0' && text[to] != '\n' && columns_before(text + from, to - from) < EXCERPT_COLUMNS)
        to++;
    while (((unsigned char)text[to] & 0xC0) == 0x80)
        to--;
    for (size_t i = from; i <= to && length + 48 < sizeof piece; i++) {
        char one[5] = {text[i]};
        size_t taken = 1;
        if (i == at)
            caret = columns_before(piece, length);
        if (i == to)
            break;
        while (i + taken < to && ((unsigned char)text[i + taken] & 0xC0) == 0x80 && taken < 4) {
            one[taken] = text[i + taken];
            taken++;
        }
        bc_escaped(one, escaped); /* a character that would not be seen is written out: the caret keeps its place */
        memcpy(piece + length, escaped, strlen(escaped));
        length += strlen(escaped);
        i += taken - 1;
    }
    bc_print(out, size, "\n    %.*s\n    %*s^", (int)length, piece, (int)caret, "");
}

bc_status bc_callout_ask(const char *text, size_t at, bc_error *error, const char *format, ...)
{
    char sentence[BC_ERROR_SIZE / 2], excerpt[BC_ERROR_SIZE / 2 - 1];
    va_list arguments;
    va_start(arguments, format);
    bc_print_list(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    add_excerpt(text, at, excerpt, sizeof excerpt);
    return bc_fail(error, BC_ERROR_INPUT, "%s%s", sentence, excerpt);
}
