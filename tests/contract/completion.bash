# What the completion offers. Usage: bash completion.bash FILE COMMAND: a line a word, then a line
# for each option, with the values that it offers, files and folders apart.
cd "$(mktemp -d)" || exit 1
mkdir folder
touch file
. "$1"

offered() {
    COMP_WORDS=(drawbar "$@")
    COMP_CWORD=$#
    _drawbar
    printf '%s\n' "${COMPREPLY[@]}" | sort
}

offered "${2:+$2}" ${2:+--}
[ -z "$2" ] || for option in $(offered "$2" --); do
    echo "$option: $(offered "$2" "$option" '' | xargs)"
    offered "$2" "$option" = '' | sed "s/^/$option=: /" | xargs echo
done
