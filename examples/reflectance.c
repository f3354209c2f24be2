/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The reflectance of a stack, by the library alone: reflectance STACK.csv MATERIALS-FOLDER */
#include <bloomcoat/spectrum.h>
#include <stdio.h>

int main(int count, char **words)
{
    const double wavelength_nm[] = {420, 470, 520, 570, 620, 670};
    enum { POINTS = sizeof wavelength_nm / sizeof *wavelength_nm };
    const char *stack_file = count > 1 ? words[1] : "window-stack.csv", *folder = count > 2 ? words[2] : "materials";
    bc_materials *materials = NULL;
    bc_stack stack = {0};
    bc_spectrum spectrum = {0};
    bc_error error;
    const double aoi_rad = 0;
    int failed = bc_materials_alloc(&materials, &error) || bc_materials_add_folder(materials, folder, &error) ||
                 bc_stack_read(stack_file, materials, &stack, &error) ||
                 bc_spectrum_compute(&stack, NULL, POINTS, wavelength_nm, aoi_rad, BC_PATH_AUTO, &spectrum, &error);
    if (failed)
        fprintf(stderr, "%s\n", error.message);
    for (size_t i = 0; !failed && i < POINTS; i++)
        printf("%g nm: R = %.6f %%\n", wavelength_nm[i], 100 * spectrum.R[BC_POL_UNPOLARIZED][i]);
    bc_spectrum_clear(&spectrum);
    bc_stack_clear(&stack);
    bc_materials_free(materials); /* last: a stack points at its tables */
    return failed;
}
