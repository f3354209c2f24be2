#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# install.sh BUILD: install what was built there into a folder, move the folder, and use it as other people would: the
# program, the library from C and C++, by pkg-config and by CMake, and completion. Nothing but the moved folder is
# allowed to matter.
set -eu
build=$1
tests=$(cd "$(dirname "$0")" && pwd)
root=$(dirname "$tests")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
unset BLOOMCOAT_TABLES LD_LIBRARY_PATH
: "${CC:=cc}" "${CXX:=c++}"

fail() {
    echo "FAILED: $*" >&2
    exit 1
}

DESTDIR="$work/staged" cmake --install "$build" --prefix /any/where >"$work/installed"
mkdir "$work/desk"
mv "$work/staged/any/where" "$work/moved here"
prefix="$work/moved here"
cp -r "$root"/examples/* "$work/desk"
cd "$work/desk"
bloomcoat="$prefix/bin/bloomcoat"

# The program, also by a link, finds the materials that lie beside it: a table that is nowhere else.
cp "$prefix/share/bloomcoat/materials/MgF2.csv" "$prefix/share/bloomcoat/materials/Only-here.csv"
"$bloomcoat" materials Only-here >/dev/null || fail "the installed program does not find its materials"
ln -s "$bloomcoat" "$work/linked"
"$work/linked" materials Only-here >/dev/null || fail "a link to the program does not find its materials"
rm "$prefix/share/bloomcoat/materials/Only-here.csv"
"$bloomcoat" check window-stack.csv --callouts window-callouts.csv --quiet --plot window.svg --report window.pdf \
    >/dev/null || fail "check does not work from another folder"
"$bloomcoat" draft --callouts objective-callouts.csv --substrate 620603 --materials MgF2,Al2O3,Ta2O5 --effort 0.05 --quiet \
    -o drafted.csv || fail "draft does not work from another folder"

# Every manual page that there is, in its section; every example but the scripts that build.
for page in "$root"/src/man/*.[1-8]; do
    [ -e "$page" ] || continue
    cmp -s "$page" "$prefix/share/man/man${page##*.}/$(basename "$page")" || fail "$page is not installed"
done
for file in README.md copyright materials.md examples/reflectance.c examples/process.csv; do
    [ -s "$prefix/share/doc/bloomcoat/$file" ] || fail "$file is not installed"
done

# Every public header alone, in C11 and in C++.
mkdir "$work/alone"
for header in "$root"/include/bloomcoat/*.h; do
    name=$(basename "$header")
    [ -e "$prefix/include/bloomcoat/$name" ] || fail "$name is not installed"
    printf '#include <bloomcoat/%s>\nextern int something;\n' "$name" |
        tee "$work/alone/$name.cc" >"$work/alone/$name.c"
done
$CC -std=c11 -Wall -Wextra -Wpedantic -Werror -fsyntax-only -I"$prefix/include" "$work"/alone/*.c ||
    fail "a header does not compile alone"
$CXX -Wall -Wextra -Wpedantic -Werror -fsyntax-only -I"$prefix/include" "$work"/alone/*.cc ||
    fail "a header is no C++"

# The shared library shows what the headers declare, all of it and nothing else.
nm -D --defined-only "$prefix"/lib*/libbloomcoat.so "$prefix"/lib/*/libbloomcoat.so 2>/dev/null |
    awk 'NF == 3 {print $3}' | LC_ALL=C sort >"$work/shown"
cat "$prefix"/include/bloomcoat/*.h | sed 's,/\*.*\*/,,; /\/\*/,/\*\//d' |
    sed -n 's/^extern .*\(bc_[a-z0-9_A-Z]*\)\[.*/\1(/p; t; p' | grep -o '\bbc_[a-z0-9_A-Z]*(' | tr -d '(' |
    LC_ALL=C sort -u >"$work/declared"
nm -g --defined-only "$prefix"/lib*/libbloomcoat.a "$prefix"/lib/*/libbloomcoat.a 2>/dev/null |
    awk 'NF == 3 {print $3}' | LC_ALL=C sort -u | LC_ALL=C comm -12 - "$work/declared" >"$work/expected"
[ -s "$work/expected" ] || fail "no function was found in the library"
diff "$work/expected" "$work/shown" >&2 || fail "the shared library shows something else (>) than the headers (<)"

# The C example by pkg-config, shared and static; it prints what the program prints.
pc=$(dirname "$(find "$prefix" -name bloomcoat.pc)")
export PKG_CONFIG_PATH="$pc"
version=$("$bloomcoat" --version)
[ "bloomcoat $(pkg-config --modversion bloomcoat)" = "$version" ] || fail "pkg-config knows another version"
materials="" libraries=""
# What pkg-config says is written for a shell: there is a blank in the folder's name.
eval "materials=$(pkg-config --variable=materialsdir bloomcoat) libraries=$(pkg-config --variable=libdir bloomcoat)"
"$bloomcoat" spectrum window-stack.csv --from 420 --to 670 --step 50 --quiet |
    awk -F, 'NR > 1 {printf "%d nm: R = %.6f %%\n", $1, $4}' >expected.txt
[ "$(wc -l <expected.txt)" = 6 ] || fail "spectrum prints other rows"
# same PROGRAM: it prints what is expected
same() {
    "$1" window-stack.csv "$materials" >found.txt || fail "the C example ($1) fails"
    diff expected.txt found.txt >&2 || fail "the C example ($1) finds other values than the program"
}
eval "$CC -std=c11 -Wall -Wextra -Werror reflectance.c -o shared $(pkg-config --cflags --libs bloomcoat)"
export LD_LIBRARY_PATH="$libraries"
same ./shared
unset LD_LIBRARY_PATH
eval "$CC -std=c11 reflectance.c -o static $(pkg-config --static --cflags --libs bloomcoat |
    sed 's/-lbloomcoat/-l:libbloomcoat.a/')"
same ./static

# The same by CMake.
cmake -S . -B built -DCMAKE_PREFIX_PATH="$prefix" >cmake.txt || fail "find_package(bloomcoat)"
cmake --build built >>cmake.txt || fail "the C example does not build by CMake"
grep -q "tables are in $prefix/share/bloomcoat/materials" cmake.txt || fail "CMake names another folder of materials"
same built/reflectance
same built/reflectance_static
if ldd built/reflectance_static | grep -q bloomcoat; then fail "the static example needs the shared library"; fi

# Completion. Both shells choose among the same words; what they are is asked of the program.
for shell in bash _bloomcoat; do
    sed -n '/# choices/,/# end of choices/p' "$root/src/completion/"*"$shell" >"$work/choices-$shell"
done
[ -s "$work/choices-bash" ] || fail "no choices were found"
diff "$work/choices-bash" "$work/choices-_bloomcoat" >&2 || fail "zsh chooses among other words than bash"
mkdir folder
cp "$prefix/share/bloomcoat/materials/MgF2.csv" folder/Ours.csv
rm -r built drafted.csv window.pdf shared static
cp window-stack.csv "a name.csv"
bash --norc "$tests/install/completion.bash" "$prefix"
if command -v zsh >/dev/null; then
    zsh -f "$tests/install/completion.zsh" "$prefix"
else
    echo "zsh completion: not tried, there is no zsh here"
fi
echo "installed, moved and used: $version"
