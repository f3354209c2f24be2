/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "callout_tokens.h"
#include "escaped.h"
#include "number.h"
#include "print.h"
#include "utf8.h"
#include <ctype.h>
#include <stdarg.h>
#include <string.h>

#define EXCERPT_COLUMNS 60 /* of a long text, what stands around the caret */

/* A phrase of drawings. A blank in it stands for blanks or hyphens, any number of them; letters in either case. */
typedef struct phrase {
    const char *words;
    bc_token_kind kind;
    int choice;
    double value;
} phrase;

static const phrase phrases[] = {
    {"reflectance", BC_TOKEN_QUANTITY, BC_R, 0},
    {"reflection", BC_TOKEN_QUANTITY, BC_R, 0},
    {"reflectivity", BC_TOKEN_QUANTITY, BC_R, 0},
    {"residual reflectance", BC_TOKEN_QUANTITY, BC_R, 0},
    {"residual reflection", BC_TOKEN_QUANTITY, BC_R, 0},
    {"rho", BC_TOKEN_QUANTITY, BC_R, 0},
    {"\xCF\x81", BC_TOKEN_QUANTITY, BC_R, 0}, /* Greek rho */
    {"transmittance", BC_TOKEN_QUANTITY, BC_T, 0},
    {"transmission", BC_TOKEN_QUANTITY, BC_T, 0},
    {"tau", BC_TOKEN_QUANTITY, BC_T, 0},
    {"\xCF\x84", BC_TOKEN_QUANTITY, BC_T, 0}, /* Greek tau */
    {"absorptance", BC_TOKEN_QUANTITY, BC_A, 0},
    {"absorption", BC_TOKEN_QUANTITY, BC_A, 0},
    {"avg", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"ave", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"average", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"averaged", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"on average", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"mean", BC_TOKEN_STATISTIC, BC_STATED_AVERAGE, 0},
    {"max", BC_TOKEN_STATISTIC, BC_STATED_MAX, 0},
    {"maximum", BC_TOKEN_STATISTIC, BC_STATED_MAX, 0},
    {"peak", BC_TOKEN_STATISTIC, BC_STATED_MAX, 0},
    {"min", BC_TOKEN_STATISTIC, BC_STATED_MIN, 0},
    {"minimum", BC_TOKEN_STATISTIC, BC_STATED_MIN, 0},
    {"abs", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"absolute", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"every wavelength", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"at every wavelength", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"at all wavelengths", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"each wavelength", BC_TOKEN_STATISTIC, BC_STATED_EVERY, 0},
    {"<=", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"=<", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"\xE2\x89\xA4", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0}, /* less-than or equal to */
    {"\xE2\xA9\xBD", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0}, /* the same, slanted */
    {"<", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"less than", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"less than or equal to", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"below", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"under", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"lower than", BC_TOKEN_SENSE, BC_STATED_BELOW, 0},
    {"at most", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not more than", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"no more than", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not to exceed", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {"not exceeding", BC_TOKEN_SENSE, BC_STATED_AT_MOST, 0},
    {">=", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"=>", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"\xE2\x89\xA5", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0}, /* greater-than or equal to */
    {"\xE2\xA9\xBE", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {">", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"greater than", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"greater than or equal to", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"more than", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"above", BC_TOKEN_SENSE, BC_STATED_ABOVE, 0},
    {"over", BC_TOKEN_FILLER, 0, 0},
    {"at least", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"not less than", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"no less than", BC_TOKEN_SENSE, BC_STATED_AT_LEAST, 0},
    {"better than", BC_TOKEN_SENSE, BC_STATED_BETTER, 0},
    {"=", BC_TOKEN_SENSE, BC_STATED_EQUAL, 0},
    {"%", BC_TOKEN_PERCENT, 0, 0},
    {"percent", BC_TOKEN_PERCENT, 0, 0},
    {"per cent", BC_TOKEN_PERCENT, 0, 0},
    {"nm", BC_TOKEN_LENGTH, 0, 1},
    {"nanometers", BC_TOKEN_LENGTH, 0, 1},
    {"nanometres", BC_TOKEN_LENGTH, 0, 1},
    {"um", BC_TOKEN_LENGTH, 0, 1000},
    {"\xC2\xB5m", BC_TOKEN_LENGTH, 0, 1000}, /* micro sign */
    {"\xCE\xBCm", BC_TOKEN_LENGTH, 0, 1000}, /* Greek mu */
    {"micron", BC_TOKEN_LENGTH, 0, 1000},
    {"microns", BC_TOKEN_LENGTH, 0, 1000},
    {"micrometers", BC_TOKEN_LENGTH, 0, 1000},
    {"micrometres", BC_TOKEN_LENGTH, 0, 1000},
    {"deg", BC_TOKEN_DEGREE, 0, 0},
    {"degs", BC_TOKEN_DEGREE, 0, 0},
    {"degree", BC_TOKEN_DEGREE, 0, 0},
    {"degrees", BC_TOKEN_DEGREE, 0, 0},
    {"\xC2\xB0", BC_TOKEN_DEGREE, 0, 0}, /* degree sign */
    {"\xC2\xBA", BC_TOKEN_DEGREE, 0, 0}, /* the ordinal sign of some keyboards */
    {"-", BC_TOKEN_TO, 0, 0},
    {"\xE2\x80\x93", BC_TOKEN_TO, 0, 0}, /* en dash */
    {"\xE2\x80\x94", BC_TOKEN_TO, 0, 0}, /* em dash */
    {"\xE2\x80\x90", BC_TOKEN_TO, 0, 0}, /* hyphen */
    {"\xE2\x80\x91", BC_TOKEN_TO, 0, 0}, /* no-break hyphen */
    {"\xE2\x88\x92", BC_TOKEN_TO, 0, 0}, /* minus sign */
    {"..", BC_TOKEN_TO, 0, 0},
    {"...", BC_TOKEN_TO, 0, 0},
    {"\xE2\x80\xA6", BC_TOKEN_TO, 0, 0}, /* ellipsis */
    {"to", BC_TOKEN_TO, 0, 0},
    {"through", BC_TOKEN_TO, 0, 0},
    {"\xC2\xB1", BC_TOKEN_PLUS_MINUS, 0, 0},
    {"+-", BC_TOKEN_PLUS_MINUS, 0, 0},
    {"+/-", BC_TOKEN_PLUS_MINUS, 0, 0},
    {"s pol", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"s polarized", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"s polarization", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"s", BC_TOKEN_POLARIZATION, BC_POL_S, 0},
    {"p pol", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"p polarized", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"p polarization", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"p", BC_TOKEN_POLARIZATION, BC_POL_P, 0},
    {"s and p each", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"each of s and p", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"each polarization", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"both polarizations", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s and p", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s & p", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s and p polarization", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"s and p pol", BC_TOKEN_POLARIZATION, BC_POL_EACH, 0},
    {"unpol", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"unpolarized", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"unpolarised", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"unpolarized light", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"random", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"random polarization", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"randomly polarized", BC_TOKEN_POLARIZATION, BC_POL_UNPOLARIZED, 0},
    {"per surface", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"per side", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"one side", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"one surface", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"single surface", BC_TOKEN_SCOPE, BC_STATED_SURFACE, 0},
    {"each surface", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"each side", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"both surfaces", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"both sides", BC_TOKEN_SCOPE, BC_STATED_BOTH_SURFACES, 0},
    {"per part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"of the part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"through the part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"whole part", BC_TOKEN_SCOPE, BC_STATED_PART, 0},
    {"aoi", BC_TOKEN_ANGLE, 0, 0},
    {"angle of incidence", BC_TOKEN_ANGLE, 0, 0},
    {"angles of incidence", BC_TOKEN_ANGLE, 0, 0},
    {"incidence angle", BC_TOKEN_ANGLE, 0, 0},
    {"normal incidence", BC_TOKEN_NORMAL, 0, 0},
    {"at normal incidence", BC_TOKEN_NORMAL, 0, 0},
    {"normal", BC_TOKEN_NORMAL, 0, 0},
    {"and", BC_TOKEN_AND, 0, 0},
    {"&", BC_TOKEN_AND, 0, 0},
    {",", BC_TOKEN_AND, 0, 0},
    {":", BC_TOKEN_AND, 0, 0},
    {"(", BC_TOKEN_AND, 0, 0},
    {")", BC_TOKEN_AND, 0, 0},
    {"@", BC_TOKEN_FILLER, 0, 0},
    {"at", BC_TOKEN_FILLER, 0, 0},
    {"for", BC_TOKEN_FILLER, 0, 0},
    {"from", BC_TOKEN_FILLER, 0, 0},
    {"in", BC_TOKEN_FILLER, 0, 0},
    {"is", BC_TOKEN_FILLER, 0, 0},
    {"of", BC_TOKEN_FILLER, 0, 0},
    {"the", BC_TOKEN_FILLER, 0, 0},
    {"with", BC_TOKEN_FILLER, 0, 0},
    {"band", BC_TOKEN_FILLER, 0, 0},
    {"incidence", BC_TOKEN_FILLER, 0, 0},
    {"light", BC_TOKEN_FILLER, 0, 0},
    {"wavelength", BC_TOKEN_FILLER, 0, 0},
    {"wavelengths", BC_TOKEN_FILLER, 0, 0},
    {"spectral range", BC_TOKEN_FILLER, 0, 0},
    {"lambda", BC_TOKEN_FILLER, 0, 0},
    {"\xCE\xBB", BC_TOKEN_FILLER, 0, 0}, /* Greek lambda */
    {"ar coating", BC_TOKEN_FILLER, 0, 0},
    {"coating", BC_TOKEN_FILLER, 0, 0},
    {"ar", BC_TOKEN_FILLER, 0, 0},
    {";", BC_TOKEN_NOTE_END, 0, 0},
    {"\n", BC_TOKEN_NOTE_END, 0, 0},
};

static bool is_letter(char byte)
{
    return isalpha((unsigned char)byte) && (unsigned char)byte < 0x80;
}

/* Bytes of blanks at the start: ASCII ones but the line end, and the no-break, thin and narrow spaces. */
static size_t blank_length(const char *text)
{
    static const char *const spaces[] = {"\xC2\xA0", "\xE2\x80\x89", "\xE2\x80\xAF", " ", "\t", "\r"};
    for (size_t i = 0; i < sizeof spaces / sizeof spaces[0]; i++)
        if (strncmp(text, spaces[i], strlen(spaces[i])) == 0)
            return strlen(spaces[i]);
    return 0;
}

static size_t gap_length(const char *text)
{
    size_t length = 0, more = 1;
    while (more > 0) {
        more = text[length] == '-' ? 1 : blank_length(text + length);
        length += more;
    }
    return length;
}

/* Bytes of `text` that are the phrase; 0 when it is another. A word ends where no letter follows. */
static size_t phrase_length(const char *text, const char *words)
{
    size_t at = 0;
    char last = '\0';
    for (; *words != '\0'; words++) {
        if (*words == ' ') {
            const size_t gap = gap_length(text + at);
            if (gap == 0)
                return 0;
            at += gap;
            continue;
        }
        if (tolower((unsigned char)text[at]) != tolower((unsigned char)*words) || text[at] == '\0')
            return 0;
        last = text[at++];
    }
    return is_letter(last) && is_letter(text[at]) ? 0 : at;
}

static const phrase *longest_phrase(const char *text, size_t *length)
{
    const phrase *found = NULL;
    *length = 0;
    for (size_t i = 0; i < sizeof phrases / sizeof phrases[0]; i++) {
        const size_t taken = phrase_length(text, phrases[i].words);
        if (taken > *length) {
            *length = taken;
            found = &phrases[i];
        }
    }
    return found;
}

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

/* "R", and what is written onto it: "Ravg", "R_max", "Rs", "Rp,avg" (up to the comma). 0: no quantity. */
static size_t read_quantity(const char *text, size_t at, bc_token *token, size_t *count)
{
    bc_quantity quantity = BC_R;
    const size_t before = *count;
    size_t end = symbol_length(text + at, &quantity);
    if (end == 0)
        return 0;
    add(token, count, BC_TOKEN_QUANTITY, (int)quantity, at, end);
    for (bool more = true; more && (is_letter(text[at + end]) || text[at + end] == '_');) {
        const size_t from = end + (text[at + end] == '_');
        const char letter = (char)tolower((unsigned char)text[at + from]);
        size_t length = 0;
        const phrase *found = longest_phrase(text + at + from, &length);
        more = found != NULL && (found->kind == BC_TOKEN_STATISTIC || found->kind == BC_TOKEN_POLARIZATION);
        if (more) {
            add(token, count, found->kind, found->choice, at + from, length);
        } else if (letter == 's' || letter == 'p') { /* "Rsavg" */
            length = 1;
            more = true;
            add(token, count, BC_TOKEN_POLARIZATION, letter == 's' ? BC_POL_S : BC_POL_P, at + from, length);
        }
        end = more ? from + length : end;
    }
    if (is_letter(text[at + end]) || text[at + end] == '_') {
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
            return bc_callout_ask(
                text, at, error,
                "more than one comma or point in a number; expected one, and blanks behind the commas "
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
    if (!is_letter(text[0]))
        return (int)bc_utf8_decode(text, strlen(text), NULL);
    while (length < 40 && (is_letter(text[length]) || text[length] == '_'))
        length++;
    return (int)length;
}

static bc_status ask_word(const char *text, size_t at, bc_error *error)
{
    char word[48], shown[BC_ESCAPED_SIZE];
    bc_print(word, sizeof word, "%.*s", unknown_length(text + at), text + at);
    return bc_callout_ask(
        text, at, error,
        "'%s' is not among the words read here; expected limits (Ravg <= 0.5 %%), wavelengths with nm "
        "or um, angles with deg, s, p or unpolarized, per surface or per part",
        bc_escaped(word, shown));
}

static bc_status read_token(const char *text, size_t *at, bc_token *token, size_t *count, bc_error *error)
{
    size_t length = read_quantity(text, *at, token, count);
    const phrase *found;
    if (length > 0) {
        *at += length;
        return BC_OK;
    }
    if (isdigit((unsigned char)text[*at]) || (text[*at] == '.' && isdigit((unsigned char)text[*at + 1]))) {
        const bc_status status = read_number(text, *at, token, count, error);
        *at += status == BC_OK ? token[*count - 1].length : 0;
        return status;
    }
    found = longest_phrase(text + *at, &length);
    if (found == NULL)
        return ask_word(text, *at, error);
    add(token, count, found->kind, found->choice, *at, length);
    token[*count - 1].value = found->value;
    *at += length;
    return BC_OK;
}

bc_status bc_callout_tokens(const char *text, bc_token *token, size_t *count, bc_error *error)
{
    bc_status status = check_text(text, error);
    *count = 0;
    for (size_t at = 0; status == BC_OK && text[at] != '\0';) {
        const size_t blank = blank_length(text + at);
        /* "R avg. <= 0.5 %": the point of an abbreviation, or of a sentence */
        const bool point = text[at] == '.' && text[at + 1] != '.' && !isdigit((unsigned char)text[at + 1]);
        if (blank > 0 || point)
            at += blank > 0 ? blank : 1;
        else
            status = read_token(text, &at, token, count, error);
    }
    if (status == BC_OK)
        add(token, count, BC_TOKEN_NOTE_END, 0, strlen(text), 0);
    return status;
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
