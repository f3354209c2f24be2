# SPDX-License-Identifier: GPL-3.0-or-later
# completion.bash PREFIX: what bash would offer after the installed program's name, against what is expected. Works in a
# folder with the demo's files.
set -u
prefix=$1
program=$prefix/bin/bloomcoat
failures=0
# shellcheck disable=SC1091 # it has its own look
source "$prefix/share/bash-completion/completions/bloomcoat"

fail()
{
    echo "FAILED: $*" >&2
    failures=$((failures + 1))
}

# What is offered when the last of the words is being typed, in order.
offered()
{
    COMP_WORDS=("$program" "$@")
    COMP_CWORD=$#
    COMPREPLY=()
    _bloomcoat
    [ ${#COMPREPLY[@]} -eq 0 ] || printf '%s\n' "${COMPREPLY[@]}" | LC_ALL=C sort | tr '\n' ' ' | sed 's/ $//'
}

# expect "OFFERED..." WORD...
expect()
{
    local expected=$1 found
    shift
    found=$(offered "$@")
    [ "$found" = "$expected" ] || fail "after '$*': offered '$found', expected '$expected'"
}

[ "$(complete -p bloomcoat)" = "complete -F _bloomcoat bloomcoat" ] || fail "bash does not know the completion"

# Commands.
expect "--help --version callouts check colour deposit desk draft help index inspect lens materials process quote record refine sensitivity shift shop spectrum standard yield" ""
expect "deposit desk draft" d
expect "callouts check colour deposit desk draft index inspect lens materials process quote record refine sensitivity shift shop spectrum standard yield" help ""
expect "" anneal ""

# Options, and nothing that the command does not take.
expect "--replace --report" check --rep
expect "--replace" spectrum --rep
expect "--replace" standard --rep
expect "--monitor-from --monitor-glass --monitor-glass-back --monitor-glass-mm --monitor-nm --monitor-step --monitor-to" deposit --monitor-
[[ " $(offered materials -) " == *" -o "* ]] || fail "-o is not offered"

# Files by kind; any file where none is of the kind.
expect "camera.request.csv chamber.csv concave-agreed-callouts.csv concave-callouts.csv" check c
expect "window-callouts.csv window-stack.csv" check wi
expect "window-callouts.csv window-stack.csv" inspect x --stack wi
expect "window-callouts.csv window-stack.csv window-witness-7.txt window-witness-8.txt window.svg" inspect wi
expect "window.svg" check --plot wi
expect "window-witness-7.txt window-witness-8.txt" check window-w
expect "folder" materials --tables f
expect "a name.csv" check "a n"

# Materials: those that came with the program, and those of a folder named before.
expect "HfO2" draft --substrate H
expect "MgF2" materials M
expect "MgF2,Al2O3" draft --materials MgF2,Al
expect "Ours" draft --tables folder --substrate O
expect "" draft --substrate O

# Choices, also behind the sign.
expect "best" draft --aim b
expect "best fewest yield" draft --aim = ""
expect "fewest" draft --aim = f
expect "p s unpolarized" inspect --polarization ""
expect "each p s unpolarized" spectrum --polarization ""
expect "R,A R,R R,T" spectrum --plot-quantities R,
expect "none" spectrum --back n
expect "same shop sweep-callouts.csv" check --back s
expect "all" inspect --scan ""
expect "each" deposit --new-monitor-glass ""
expect "concave-agreed-callouts.csv concave-callouts.csv" check --back co
for word in none uncoated same; do
    "$program" spectrum window-stack.csv --back "$word" --quiet >/dev/null || fail "--back $word is not taken"
done

# Where the program chooses among words, they are the ones offered, for every option of every command.
curved="--radius-mm 15 --clear-aperture-mm 10 --source-distance-mm 500"
stack="window-stack.csv --callouts objective-callouts.csv"
given()
{
    case $1 in
    spectrum | deposit | colour) echo window-stack.csv ;;
    check) echo "$stack" ;;
    sensitivity) echo "$stack $curved" ;;
    shift) echo "$stack --packing 0.9" ;;
    refine | lens) echo "$stack $curved" ;;
    yield) echo "$stack --process process.csv $curved" ;;
    draft | quote)
        echo "--callouts objective-callouts.csv --substrate 620603 --materials MgF2 --process process.csv $curved"
        ;;
    inspect) echo "window-witness-7.txt --stack window-stack.csv --callouts window-callouts.csv --column 2 --aoi 8" ;;
    index) echo "oxide-layer-R.txt --substrate fused-silica --layer-nm 500" ;;
    materials) echo MgF2 ;;
    shop) echo "check shop" ;;
    record) echo "list --shop shop" ;;
    process) echo "chart window-witness-7.txt --stack window-stack.csv --callouts window-callouts.csv --column 2" ;;
    standard) echo "list --shop shop" ;;
    desk) echo --no-browser --seconds 0 ;;
    callouts) echo "R<1%@550nm" ;;
    *) fail "no line to try the options of '$1' with" ;;
    esac
}

chosen=0
for command in $("$program" --help | sed -n 's/^  \([a-z]\{1,\}\)  *.*/\1/p'); do
    help=$("$program" "$command" --help)
    line=$(given "$command")
    for option in plot report; do
        grep -q "^  --$option " <<<"$help" && line="$line --$option unwritten.$([ $option = plot ] && echo svg || echo pdf)"
    done
    while read -r option kind; do
        case $kind in TEXT | FILE | STACK | DIR) continue ;; esac
        # shellcheck disable=SC2086 # a list of words
        message=$("$program" "$command" $line "$option" no-such-word 2>&1 >/dev/null)
        if [[ $message =~ $option:\ .*\;\ expected\ (\'[^\']*\'(, \'[^\']*\')*\ or\ \'[^\']*\')$ ]]; then
            words=${BASH_REMATCH[1]//,/}
            words=${words//\'/}
            # shellcheck disable=SC2086
            words=$(printf '%s\n' ${words/ or / } | LC_ALL=C sort | tr '\n' ' ')
            chosen=$((chosen + 1))
            expect "${words% }" "$command" "$option" ""
        else
            case $option in
            --back | --scan | --new-monitor-glass | --plot-quantities) ;; # tried above
            *) [ -z "$(_bloomcoat_choices "$command" "$option")" ] || fail "$command $option chooses among no words" ;;
            esac
        fi
    done <<<"$(sed -n 's/^  \(--*[a-z][-a-z]*\) \([^ ][^ ]*\).*/\1 \2/p' <<<"$help")"
done
[ "$chosen" -ge 25 ] || fail "only $chosen options were found to choose among words"

[ "$failures" -eq 0 ] || exit 1
echo "bash completion: $chosen choices and all else as expected"
