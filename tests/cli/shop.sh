# The book of a shop as a whole: made, looked at, backed up, restored, handed on, and what it refuses.
export RUSSET_SEED=1 SOURCE_DATE_EPOCH=1773496800
unset RUSSET_SHOP XDG_DATA_HOME
show russet shop init --shop shop
show russet shop init --shop shop
show russet shop check --shop shop
show russet shop check --shop nowhere
show russet shop backup --shop shop
show russet shop backup --shop shop --out shop/backup
show russet shop backup --shop shop --out backup
show russet shop restore backup --shop shop
show russet shop restore backup --shop second
show russet shop restore backup --shop second --replace kept --json
show russet shop restore backup --shop third --forget me
show russet shop export --shop shop --out first.zip
show russet shop import first.zip --shop second --json
quiet russet shop export --shop second --out second.zip
cmp first.zip second.zip
show russet shop import backup --shop second
show russet shop restore first.zip --shop third
show russet shop erase-customer nobody --shop shop
show russet shop check --shop shop --now yesterday
HOME= show russet shop check
XDG_DATA_HOME=$PWD/data show russet shop init
RUSSET_SHOP=$PWD/data/russet show russet shop check --tidy --json
stat -c '%a %n' shop shop/book.sqlite backup first.zip
