# SPDX-License-Identifier: GPL-3.0-or-later
# `cpack -G DEB`: bloomcoat, libbloomcoat0, libbloomcoat-dev and python3-bloomcoat. Configure with -DCMAKE_INSTALL_PREFIX=/usr, so that the
# library goes where Debian keeps those of the machine's kind.
set(CPACK_GENERATOR DEB)
set(CPACK_PACKAGE_NAME bloomcoat)
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "") # each package has its own
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS ${CMAKE_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS})
set(CPACK_COMPONENTS_ALL program library development python)
set(CPACK_COMPONENTS_GROUPING IGNORE)
set(CPACK_DEB_COMPONENT_INSTALL ON)
set(CPACK_PRE_BUILD_SCRIPTS ${CMAKE_CURRENT_SOURCE_DIR}/debian-staged.cmake)
set(CPACK_BC_COPYRIGHT ${CMAKE_CURRENT_SOURCE_DIR}/copyright)
set(CPACK_BC_CHANGELOG ${CMAKE_CURRENT_SOURCE_DIR}/changelog)

set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_MAINTAINER "bloomcoat founders <bloomcoat@example.org>")
set(CPACK_DEBIAN_PACKAGE_PRIORITY optional)
set(CPACK_DEBIAN_PACKAGE_CONTROL_STRICT_PERMISSION ON)
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)
set(CPACK_DEBIAN_PACKAGE_GENERATE_SHLIBS ON)

set(about "It drafts a stack of layers from a drawing's callouts or refines one that exists,
holds it against them at every wavelength and angle, simulates the chamber's
runs, quotes, writes the sheet for the chamber, and judges measured witnesses.")

set(CPACK_DEBIAN_PROGRAM_PACKAGE_NAME bloomcoat)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_PROGRAM_PACKAGE_RECOMMENDS fonts-dejavu-core)
set(CPACK_DEBIAN_PROGRAM_DESCRIPTION "design and check antireflection coatings\n${about}")

set(CPACK_DEBIAN_LIBRARY_PACKAGE_NAME libbloomcoat${PROJECT_VERSION_MAJOR})
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SECTION libs)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_LIBRARY_PACKAGE_CONTROL_EXTRA ${CMAKE_CURRENT_SOURCE_DIR}/triggers)
set(CPACK_DEBIAN_LIBRARY_DESCRIPTION "library to design and check antireflection coatings\n${about}")

set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_NAME libbloomcoat-dev)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_SECTION libdevel)
set(needs libgsl-dev libcsv-dev libcjson-dev libcairo2-dev libpango1.0-dev libmd-dev libsqlite3-dev)
if(BC_STANDS_ON MATCHES sleef)
    list(APPEND needs libsleef-dev)
endif()
list(JOIN needs ", " needs)
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_DEPENDS
    "libbloomcoat${PROJECT_VERSION_MAJOR} (= ${PROJECT_VERSION}), ${needs}")
set(CPACK_DEBIAN_DEVELOPMENT_PACKAGE_RECOMMENDS bloomcoat) # its materials
set(CPACK_DEBIAN_DEVELOPMENT_DESCRIPTION "headers and static library of libbloomcoat\n${about}")

set(CPACK_DEBIAN_PYTHON_PACKAGE_NAME python3-bloomcoat)
set(CPACK_DEBIAN_PYTHON_PACKAGE_SECTION python)
set(CPACK_DEBIAN_PYTHON_PACKAGE_ARCHITECTURE all)
set(CPACK_DEBIAN_PYTHON_PACKAGE_DEPENDS
    "python3 (>= 3.9), libbloomcoat${PROJECT_VERSION_MAJOR} (>= ${PROJECT_VERSION})")
set(CPACK_DEBIAN_PYTHON_PACKAGE_RECOMMENDS "python3-numpy, bloomcoat")
set(CPACK_DEBIAN_PYTHON_DESCRIPTION "design and check antireflection coatings from Python\n${about}")
include(CPack)
