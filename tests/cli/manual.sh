# The manual's examples, run as they stand there, with the demo's files under the names they use. What each verb says is pinned by the
# verbs' own transcripts; here each must be done or answer no, and the job at the end is shown.
cp "$SHIPPED"/demo/about.json .
cp "$SHIPPED"/demo/drawdowns.cgats drawdowns.csv
cp "$SHIPPED"/demo/helm-seat.cgats spot.cxf
cp "$SHIPPED"/demo/helm-seat.cgats repair.cxf
cp "$DATA/cracks/sut01.jpg" before.jpg
awk '!/^sanded-crust/ { gsub(/^NUMBER_OF_SETS 2/, "NUMBER_OF_SETS 1"); print }' "$SHIPPED/demo/grounds.cgats" > filler.csv
export RUSSET_SHOP=$PWD/shop RUSSET_SEED=1 SOURCE_DATE_EPOCH=1772442000 TZ=UTC
# From the roff source: commands only, joined where the source breaks none.
russet --manual | awk '/^\.Sh /{on = /EXAMPLES/} on && /^russet /{gsub(/\\-/, "-"); print}' > examples
ran=0
while IFS= read -r line; do
    line=${line//--pot POT/--pot $(russet pot list --job 1 --json 2> /dev/null | sed -n 's/^ *"id": "\(........-....\).*/\1/p' | head -n 1)}
    said=$(bash -c "$line" 2>&1 < /dev/null); code=$?
    [ $code -le 1 ] || printf '%s\n%s\n(exit %s)\n' "$line" "$said" "$code"
    ran=$((ran + 1))
    [ -f card.csv ] || # what a card of that pot might read
        quiet russet predict --toners toners.json --parts white=3,orange=8,yellow-deep=18,black=.3,brown-oxide=8,binder=24 --backing filler.csv --film-um 30 --out card.json
    [ ! -f card.json ] || mv card.json card.csv
done < examples
echo "$ran examples run"
show russet job show 1
ls *.pdf
