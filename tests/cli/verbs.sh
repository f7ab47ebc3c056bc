# What a stranger meets first: no verb, a wrong verb, a wrong option, too much, too little.
show russet --version
show russet nonsense
show russet match --tonners x
show russet match
show russet --help
show russet toners learn --help
show russet match --quiet
show russet match --lab 25,0,-1
show russet amount --area-m2 1 --film-um 30 --solids-volume 30

# What the completion offers after some words.
russet --completion > russet.bash
source ./russet.bash
offers() {
    COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)) COMPREPLY=()
    _russet
    printf '%s: %s\n' "$*" "${COMPREPLY[*]}"
}
offers russet ""
offers russet toners ""
offers russet toners l
offers russet match --t
offers russet adjust --state ""
offers russet toners fit russ
offers russet pour --batch-g ""
offers russet plan --material s
offers russet plan --damage crack,s
