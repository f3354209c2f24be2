/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Linked into what draws pictures under AddressSanitizer: fontconfig keeps what it has read until the process ends,
 * some of it by pointers that LeakSanitizer cannot follow. Nothing else is suppressed.
 */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_options(void);

const char *__lsan_default_suppressions(void)
{
    return "leak:libfontconfig\n";
}

/* Not a word of it on the program's standard error, which tests read. */
const char *__lsan_default_options(void)
{
    return "print_suppressions=0";
}
