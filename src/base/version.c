/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <bloomcoat/version.h>

const char *bc_version(void)
{
    return BC_VERSION;
}

int bc_version_number(void)
{
    return BC_VERSION_NUMBER;
}
