/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef BLOOMCOAT_VERSION_H
#define BLOOMCOAT_VERSION_H
/*
 * The version: that of the headers as macros, that of the library a program runs with as functions.
 */
#include <bloomcoat/api.h>

BC_API_BEGIN

#define BC_VERSION        "0.1.0"
#define BC_VERSION_NUMBER 100 /* 10000 major + 100 minor + patch */

const char *bc_version(void); /* BC_VERSION as the library was built */
int bc_version_number(void);  /* BC_VERSION_NUMBER as the library was built */

BC_API_END

#endif
