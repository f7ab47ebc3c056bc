# The job of "A first hour" once more, for another piece: a black vinyl armchair, from the reading to what its cards teach.
# The three readings are invented; the cards are what `russet predict` says of a pot that was weighed wrongly.
demo_shelf

# Per cent, from 400 to 700 nm by 10: a soft, slightly blue black.
row() { printf '%s' "$1"; for i in $(seq 0 30); do printf ' %s' "$(awk -v i="$i" -v o="$2" 'BEGIN { printf "%.2f", 4.86 + o - .012 * i + .002 * (i > 24) * (i - 24) }')"; done; echo; }
{
    printf 'CGATS.17\nMEASUREMENT_GEOMETRY "sci"\nNUMBER_OF_FIELDS 32\nBEGIN_DATA_FORMAT\nSAMPLE_ID'
    for nm in $(seq 400 10 700); do printf ' NM_%s' "$nm"; done
    printf '\nEND_DATA_FORMAT\nNUMBER_OF_SETS 3\nBEGIN_DATA\n'
    row armrest-1 0; row armrest-2 .02; row armrest-3 -.01
    printf 'END_DATA\n'
} > armchair.cgats
film=(--backing grounds.cgats#filler --film-um 40)

show russet reading armchair.cgats
show russet match --toners toners.json --target armchair.cgats "${film[@]}" --max-toners 3 --batch-g 80 --top 2 --out match.json

# The light of the customer's own room counts beside daylight.
{ echo nm,power; tail -n +1 "$SHIPPED/cie/illum_LED-B3.csv"; } > lamp.csv
show russet match --toners toners.json --target armchair.cgats "${film[@]}" --max-toners 3 --illuminants D65 --lamp lamp.csv --weights .5,.5 --top 1
show russet match --toners toners.json --target armchair.cgats --illuminants D65,lamp
show russet match --toners toners.json --target armchair.cgats#arm-9
show russet toners fit match.json

show russet pour --recipe match.json#1 --batch-g 80 --name "black vinyl armchair" --out pour-sheet.pdf
head -c 5 pour-sheet.pdf; echo

# The card of a pot with too little black: what it reads, and what to add.
card() { quiet russet predict --toners toners.json --parts "$1" "${film[@]}" --out "$2"; }
show russet pour --recipe match.json#1 --batch-g 80 --poured binder=8,white=2.8,black=16.5 --pot-g 120

# A fresh pot; its scale was off, so the card lacks black and has too much white.
card white=3.6,black=10.5,ultramarine=27.26,binder=36.96 card-1.json
show russet adjust --toners toners.json --recipe match.json#1 --measured card-1.json --target armchair.cgats "${film[@]}" --taken-g 4 --out adjust-1.json

# A card that is near enough as it is: what would bring it nearer still (13.9 g) is offered only up to a tenth of the cup.
card white=2.2,black=15,ultramarine=14,binder=44.8 near.json
show russet adjust --toners toners.json --recipe match.json#1 --measured near.json --target armchair.cgats "${film[@]}" --taken-g 4

# No instrument at hand: a ring of dabs, and its answer.
show russet adjust --toners toners.json --recipe match.json#1 --ring "${film[@]}" --taken-g 4 --out ring.pdf
head -c 5 ring.pdf; echo
show russet adjust --toners toners.json --recipe match.json#1 --ring --nearest 1 "${film[@]}" --taken-g 4 --out ring.json
show russet adjust --toners toners.json --recipe match.json#1 --by-eye "bluer 1" "${film[@]}" --taken-g 4 --out adjust-by-eye.json

# Two more cards of other pots: what all of them teach about the strengths. A correction by eye lies among them.
card white=2.9,black=10.8,ultramarine=24.8,binder=39 card-2.json
quiet russet adjust --toners toners.json --pot white=2.8,black=13.0,ultramarine=25,binder=39 --measured card-2.json --target armchair.cgats "${film[@]}" --out adjust-2.json
card white=2.6,black=11.5,ultramarine=28.6,binder=38 card-3.json
printf 'SAMPLE_ID%s\nwhite%s\n' "$(seq -f ,%g 400 10 700 | tr -d '\n')" "$(printf ',.9%.0s' $(seq 31))" > white.csv # this card was sprayed half over white
quiet russet predict --toners toners.json --parts white=2.6,black=11.5,ultramarine=28.6,binder=38 --backing white.csv --film-um 40 --out half-3.json
quiet russet adjust --toners toners.json --pot white=2.5,black=14.0,ultramarine=29,binder=38 --measured card-3.json --half half-3.json --half-backing white.csv --target armchair.cgats "${film[@]}" --out adjust-3.json
show russet adjust --toners toners.json --pot white=2.5,black=14.0,ultramarine=29,binder=38 --measured card-3.json --half half-3.json --target armchair.cgats "${film[@]}"
card white=3.1,black=9.9,ultramarine=27,binder=37 card-4.json
quiet russet adjust --toners toners.json --pot white=3.0,black=12.0,ultramarine=27,binder=37 --measured card-4.json --target armchair.cgats "${film[@]}" --out adjust-4.json
show russet toners learn --toners toners.json --log adjust-*.json --out better.json
show russet predict --toners better.json --parts white=2.77,black=13.01,ultramarine=27.26,binder=36.96 "${film[@]}"
