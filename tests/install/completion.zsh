# SPDX-License-Identifier: GPL-3.0-or-later
# completion.zsh PREFIX: what zsh would offer after the installed program's name, against what is expected. A zsh of its
# own types into a terminal of its own. Works in a folder with the demo's files.
zmodload zsh/zpty || exit 1
prefix=$1
offers=$(mktemp)
failures=0

zpty shell zsh -f -i
say() { zpty -w shell "$1" }
# Every match that is added goes into a file as well; zsh's own helpers ask for matches without adding them.
say "PS1= PATH=${(q)prefix}/bin:\$PATH; fpath=(${(q)prefix}/share/zsh/site-functions \$fpath)"
say 'autoload -Uz compinit; compinit -u -D; zstyle ":completion:*" list-prompt ""; LISTMAX=0'
say "note() { local -a found; [[ \${@[1,(i)(-|--)]} == *-(O|A|D)\\ * ]] ||
  { builtin compadd -O found \"\$@\"; print -rl -- \$found >>${(q)offers}; }; builtin compadd \"\$@\" }"
say 'functions[compadd]=$functions[note]'
say "offer() { : >${(q)offers}; _main_complete; print -r -- the-end >>${(q)offers} }"
say 'zle -C offer list-choices offer; bindkey "^I" offer; bindkey "^U" kill-whole-line'

# expect "OFFERED..." LINE
expect()
{
    local found tries
    : >$offers
    zpty -w -n shell $'\x15'"$2"$'\t'
    for ((tries = 0; tries < 500; tries++)); do
        zpty -r -t shell found
        [[ "$(<$offers)" == *the-end ]] && break
        sleep 0.02
    done
    found=${(j: :)${(ou)${(f)"$(<$offers)"}:#(the-end|)}}
    if [[ $found != $1 ]]; then
        print -u2 -r "FAILED: after '$2': offered '$found', expected '$1'"
        ((failures++))
    fi
}

expect "deposit draft" "bloomcoat d"
expect "check" "bloomcoat help c"
expect "--monitor-from --monitor-nm --monitor-step --monitor-to" "bloomcoat deposit window-stack.csv --monitor-"
expect "best fewest" "bloomcoat draft --aim "
expect "best" "bloomcoat draft --aim=b"
expect "p s unpolarized" "bloomcoat inspect --polarization "
expect "MgF2" "bloomcoat materials M"
expect "Al2O3" "bloomcoat draft --materials MgF2,Al"
expect "Ours" "bloomcoat draft --tables folder --substrate O"
expect "window-callouts.csv window-stack.csv" "bloomcoat check --callouts wi"
expect "window-callouts.csv window-stack.csv" "bloomcoat check wi"
expect "window.svg" "bloomcoat check --plot wi"
expect "window-witness-8.txt" "bloomcoat inspect window-witness-7.txt window-witness-8"

zpty -d shell
rm -f $offers
((failures == 0)) || exit 1
print "zsh completion: as expected"
