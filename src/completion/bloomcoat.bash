# SPDX-License-Identifier: GPL-3.0-or-later
# bash completion of bloomcoat. The program itself is asked for its commands, their options, what follows an option, and
# the materials at hand. Only the words that an option chooses among stand here: tests/install.sh holds them to the
# program's own.

# The words an option chooses among, of a command.
_bloomcoat_choices()
{
    local command=$1 option=$2
    # choices
    case $option in
    --aim) echo fewest best yield ;;
    --back)
        case $command in
        spectrum) echo none uncoated same ;;
        inspect | process) echo none ground uncoated same ;;
        index) echo none ground uncoated ;;
        *) echo uncoated same ;;
        esac
        ;;
    --decimal) echo point comma ;;
    --angle-reference) echo normal axis ;;
    --new-monitor-glass) echo each ;;
    --paper) echo a4 letter ;;
    --plot-quantities) echo R T A ;;
    --polarization)
        case $command in
        spectrum) echo unpolarized s p each ;;
        *) echo unpolarized s p ;;
        esac
        ;;
    --quantity)
        case $command in
        inspect | index | process) echo R T ;;
        esac
        ;;
    --scan) echo all ;;
    --separator) echo comma semicolon tab space ;;
    --failed-part) echo strip scrap ;;
    --prefer) echo hours yield layers ;;
    --shape) echo convex concave ;;
    --judge) echo curve points ;;
    --illuminant) echo D65 A D50 ;;
    --observer) echo 2 10 ;;
    --signal) echo R T ;;
    --signal-error-of) echo max cut ;;
    --source) echo small-area point ;;
    --from | --to) [ "$command" != shift ] || echo vacuum dry-air humid-air ;;
    --unit) echo percent fraction counts ;;
    --wavelength-unit) echo nm um ;;
    --monitor-glass-back) echo none uncoated ;;
    esac
    # end of choices
}

# The endings of the files that a kind of value names; none: any file.
_bloomcoat_endings()
{
    case $1 in
    --plot) echo svg pdf png ;;
    --report | --internal-report) echo html pdf ;;
    --*) echo csv ;;
    STACK) echo csv ;;
    esac
}

# Offer every line of a text.
_bloomcoat_offer()
{
    local line
    while IFS= read -r line; do
        if [[ -n $line ]]; then
            COMPREPLY+=("$line")
        fi
    done <<<"$1"
}

# Files with the endings given, and the folders on the way; where there is none, any file.
_bloomcoat_files()
{
    local current=$1 all file ending
    shift
    compopt -o filenames 2>/dev/null
    all=$(compgen -f -- "$current")
    while IFS= read -r file; do
        if [[ -d $file ]]; then
            _bloomcoat_offer "$file"
        else
            for ending; do
                [[ $file == *."$ending" ]] && _bloomcoat_offer "$file"
            done
        fi
    done <<<"$all"
    [[ ${#COMPREPLY[@]} -gt 0 ]] || _bloomcoat_offer "$all"
}

# Those of the words that begin as the current one does; in a list with commas, its last item.
_bloomcoat_words()
{
    local current=$1 words=$2 list=${3-} before=""
    if [[ -n $list && $current == *,* ]]; then
        before=${current%,*},
        current=${current##*,}
    fi
    _bloomcoat_offer "$(compgen -P "$before" -W "$words" -- "$current")"
}

# The materials of the folders that the command line names, and of those the program knows.
_bloomcoat_materials()
{
    local program=$1 at
    local folders=()
    for ((at = 2; at < COMP_CWORD - 1; at++)); do
        [[ ${COMP_WORDS[at]} == --tables ]] && folders+=(--tables "${COMP_WORDS[at + 1]}")
    done
    "$program" materials --json "${folders[@]}" 2>/dev/null |
        sed -n 's/^[[:space:]]*"name":[[:space:]]*"\([^"]*\)".*/\1/p'
}

# What follows an option; `kind` is how the help calls it.
_bloomcoat_value()
{
    local program=$1 command=$2 option=$3 kind=$4 current=$5 choices
    choices=$(_bloomcoat_choices "$command" "$option")
    case $kind in
    DIR)
        compopt -o filenames 2>/dev/null
        _bloomcoat_offer "$(compgen -d -- "$current")"
        return
        ;;
    FILE | STACK)
        # shellcheck disable=SC2046 # a list of words
        _bloomcoat_files "$current" $(_bloomcoat_endings "$option")
        return
        ;;
    esac
    case $option in
    --materials) _bloomcoat_words "$current" "$(_bloomcoat_materials "$program")" list ;;
    --substrate | --incident | --monitor-glass) _bloomcoat_words "$current" "$(_bloomcoat_materials "$program")" ;;
    --plot-quantities) _bloomcoat_words "$current" "$choices" list ;;
    --back)
        _bloomcoat_words "$current" "$choices"
        [ "$command" = index ] || _bloomcoat_files "$current" csv
        ;;
    *) _bloomcoat_words "$current" "$choices" ;;
    esac
}

# What a command takes without an option's name: the word after it in the first line of its help.
_bloomcoat_operand()
{
    local program=$1 help=$2 current=$3
    case $(sed -n '1s/^usage: [^ ]* [^ ]* \([^ ]*\).*/\1/p' <<<"$help") in
    STACK*) _bloomcoat_files "$current" csv ;;
    MEASURED* | SCAN*) _bloomcoat_files "$current" ;;
    *NAME*) _bloomcoat_words "$current" "$(_bloomcoat_materials "$program")" ;;
    esac
}

_bloomcoat()
{
    local program=${COMP_WORDS[0]/#\~\//$HOME/} command=${COMP_WORDS[1]-}
    local current=${COMP_WORDS[COMP_CWORD]} option=${COMP_WORDS[COMP_CWORD - 1]}
    local help kind commands
    COMPREPLY=()
    if [[ $COMP_CWORD -eq 1 || ($COMP_CWORD -eq 2 && $command == help) ]]; then
        commands=$("$program" --help 2>/dev/null | sed -n 's/^  \([a-z]\{1,\}\)  *.*/\1/p')
        [[ $COMP_CWORD -eq 1 ]] && commands="$commands help --help --version"
        _bloomcoat_words "$current" "$commands"
        return
    fi
    help=$("$program" "$command" --help 2>/dev/null) || return
    # Readline cuts --option=value at the sign.
    if [[ $current == = ]]; then
        current=""
    elif [[ $option == = ]]; then
        option=${COMP_WORDS[COMP_CWORD - 2]}
    elif [[ $current == -* ]]; then
        _bloomcoat_words "$current" "$(sed -n 's/^  \(-[-a-z]*\).*/\1/p' <<<"$help")"
        return
    fi
    [[ $option == -* ]] && kind=$(sed -n "s/^  $option \([^ ][^ ]*\).*/\1/p" <<<"$help")
    if [[ -n ${kind-} ]]; then
        _bloomcoat_value "$program" "$command" "$option" "$kind" "$current"
    else
        _bloomcoat_operand "$program" "$help" "$current"
    fi
}

complete -F _bloomcoat bloomcoat
