# The book of finishes fills itself: a pour that is logged leaves its recipe there, a correction of the pot changes it, a pour that puts another
# one right takes its place; it is named, found, poured again in another size, goes out and in with an export, and outlives its customer.
export RUSSET_SHOP=$PWD/shop RUSSET_SEED=1 SOURCE_DATE_EPOCH=1772442000 TZ=UTC
demo_shelf
cp "$SHIPPED"/demo/helm-seat.cgats .
quiet russet shop init
quiet russet shelf keep toners.json
quiet russet job new --title "Helm seat of Zebulon Quirk" --customer "Zebulon Quirk" --telephone "+00 555 0199" --piece "seat cushion" --piece "back rest" --colour cognac
quiet russet job add 1 --piece "seat cushion" --material "pigmented leather"
quiet russet match --toners toners.json --target helm-seat.cgats --backing grounds.cgats#filler --film-um 84 --batch-g 60 --max-toners 3 --top 1 --out match.json
poured=$(sed -n '/"parts"/,/]/p' match.json | awk -F'[:,]' '/"toner"/ { gsub(/[" ]/, "", $2); t = $2 } /"g"/ { gsub(/ /, "", $2); printf "%s%s=%s", n++ ? "," : "", t, $2 }')
keyless() { "$@" 2>&1 | sed -E 's/[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/KEY/'; }

echo "# a plan of a pour leaves nothing, a pour leaves one, and the same pour again leaves no second"
quiet russet pour --recipe match.json --batch-g 60 --out plan.json
keyless russet job log 1 plan.json --colour cognac
quiet russet pour --recipe match.json --batch-g 60 --poured "$poured" --name "for Mr Quirk" --out poured.json
keyless russet job log 1 poured.json --colour cognac
keyless russet job log 1 poured.json --colour cognac
keyless russet finish find

echo "# what was really poured is put right: the finish changes with it"
entry=$(russet job show 1 --json | grep -B1 -A1 '"step": "pour"' | sed -n 's/.*"id": "\(.*\)",/\1/p' | head -n 1)
quiet russet pour --recipe match.json --batch-g 60 --poured "${poured/binder=/binder=1}" --out righted.json
keyless russet job log 1 righted.json --colour cognac --replaces "$entry"
keyless russet finish find

echo "# a second pot of that colour has a name of its own, and a correction changes its finish and no other"
quiet russet pour --recipe match.json --batch-g 30 --poured "$(sed -n '/"parts"/,/]/p' match.json | awk -F'[:,]' '/"toner"/ { gsub(/[" ]/, "", $2); t = $2 } /"g"/ { printf "%s%s=%.2f", n++ ? "," : "", t, $2 / 2 }')" --out half.json
russet job log 1 half.json --colour cognac > logged
sed -n 's/  pot  *//p' logged > pot
sed -n 's/  finish  *//p' logged
quiet russet adjust --toners toners.json --pot "$(sed -n '/"parts"/,/]/p' match.json | awk -F'[:,]' '/"toner"/ { gsub(/[" ]/, "", $2); t = $2 } /"g"/ { printf "%s%s=%.2f", n++ ? "," : "", t, $2 / 2 }')" --taken-g 3 --by-eye "redder 2" --backing grounds.cgats#filler --film-um 84 --out adjustment.json
keyless russet job log 1 adjustment.json --colour cognac --pot "$(< pot)"
keyless russet finish find

echo "# it is named, by what was logged or by its name, and poured again in another size"
keyless russet finish keep adjustment.json --job 1 --name "Launch cognac" --words "helm seat, redder than the card"
keyless russet finish name "for Mr Quirk" --name "Launch cognac, first pot"
keyless russet finish name "Launch cognac"
keyless russet finish find --near=--lab=41.2,15.1,20.6 --top 1
quiet russet finish show "Launch cognac" --out again.json
russet pour --recipe again.json --batch-g 25 | head -n 1

echo "# a pour under the wrong colour is said; put right, its pot is taken back, the stock returns and the finish follows, with what was added since"
allkeys() { "$@" 2>&1 | sed -E 's/[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/KEY/g'; }
quiet russet job new --title "Settee" --piece "arm" --colour grey --colour tan
quiet russet reading helm-seat.cgats --out tan.json
quiet russet reading --lab=71,2,4 --out grey.json
quiet russet job log 2 grey.json --colour grey
quiet russet job log 2 tan.json --colour tan
quiet russet shelf receive binder --lot B-1 --g 5 --expires 2026-01-31
quiet russet shelf receive binder --lot B-2 --g 6
echo "# a rescue is poured out of the lots too: what they do not hold beside what is in the cup already is said"
russet pour --recipe again.json --batch-g 25 --poured binder=4,red-oxide=6 | grep -E "more than planned|lot B-|rescue pours|hold|receive binder"
echo "# at the scale too, before it is begun with"
rest() { for _ in $(seq 30); do echo "ST,GS,+$1 g"; done; }
ramp() { awk -v from="$1" -v to="$2" 'BEGIN { for (g = from; g < to; g += .05) printf "US,GS,+%.2f g\n", g }'; rest "$2"; }
read -r first second <<< "$(russet pour --recipe again.json --batch-g 25 --json | sed -n 's/.*"to_reading_g": \([0-9.]*\),/\1/p' | head -n 2 | tr '\n' ' ')"
{ rest 0.00; ramp 0 "$first"; ramp "$first" "$(awk -v g="$second" 'BEGIN { printf "%.2f", g + 4 }')"; } | russet pour --recipe again.json --batch-g 25 --scale - 2>&1 > /dev/null | grep -E -A4 "TOO MUCH|RESCUE"
allkeys russet job log 2 half.json --colour grey
pot=$(russet pot list --job 2 --json | sed -n 's/^ *"id": "\(.*\)",/\1/p')
quiet russet job log 2 adjustment.json --colour grey --pot "$pot"
allkeys russet pot log "$pot" crosslinked --life-min 240
echo "# a correction is logged onto the pot that it was reckoned for: not twice, and not one that was made for another cup"
allkeys russet job log 2 adjustment.json --colour grey --pot "$pot"
holds=$(russet pot list --job 2 --json | sed -n '/"parts"/,/]/p' | awk -F'[:,]' '/"toner"/ { gsub(/[" ]/, "", $2); t = $2 } /"g"/ { gsub(/ /, "", $2); if (!(t in seen)) printf "%s%s=%s", n++ ? "," : "", t, $2; seen[t] = 1 }')
quiet russet adjust --toners toners.json --pot "$holds" --by-eye "redder 2" --backing grounds.cgats#filler --film-um 84 --out second.json
sed '/"pot": {/,/}/s/"red-oxide"/"black"/' second.json > other.json
allkeys russet job log 2 other.json --colour grey --pot "$pot"
sed '/"additions"/,/"g"/s/"g": [0-9.]*/"g": 1.9/' second.json > more.json # more was poured than was advised: no reason to refuse it
allkeys russet job log 2 more.json --colour grey --pot "$pot"
allkeys russet job log 2 second.json --colour grey --pot "$pot"
entry=$(russet job show 2 --json | grep -B1 -A1 '"step": "pour"' | sed -n 's/.*"id": "\(.*\)",/\1/p' | head -n 1)
allkeys russet job log 2 half.json --colour tan --replaces "$entry"
allkeys russet pot list --job 2
allkeys russet pot log "$pot" taken --g 1
pot=$(russet pot list --job 2 --json | sed -n 's/^ *"id": "\(.*\)",/\1/p' | tail -n 1)
allkeys russet pot log "$pot" taken --g 1 --now 2026-03-02T13:01:00Z
quiet russet pot log "$pot" emptied
allkeys russet pot log "$pot" taken --g 1
allkeys russet finish find --words settee
russet shelf show | grep -E "lot B-"

echo "# a pour without a recipe that can be read is logged, and not kept"
sed 's/"recipe":/"recipe_of_old":/' poured.json > broken.json
keyless russet job log 1 broken.json

echo "# out, in, and out again is the same"
quiet russet shop export --out one.zip
quiet russet shop init --shop other
quiet russet shop import one.zip --shop other
quiet russet shop export --out two.zip --shop other
cmp one.zip two.zip && echo same

echo "# the recipe outlives its customer, without a word of the customer"
quiet russet shop erase-customer "Zebulon Quirk"
keyless russet finish find --top 2
grep -rli -e quirk -e zebulon -e "555 0199" shop | wc -l
show russet shop check

echo "# with a shop, a pour says out of which lots, and what does not suffice; the live pour names them at each step; a sheen takes the kept ladder"
show russet pour --recipe match.json --batch-g 60 --now 2026-03-02T08:00:00Z
quiet russet shelf receive blue --lot P-9 --g 400 --frost yes
quiet russet shelf receive red-oxide --lot R-1 --g 8 --warn-g 20
quiet russet shelf receive yellow-oxide --lot Y-1 --g 5
quiet russet shelf receive yellow-oxide --lot Y-2 --g 500
quiet russet shelf receive binder --lot B-3 --g 900 --expires 2026-12-31
russet pour --recipe match.json --batch-g 15 --now 2026-03-02T08:00:00Z | sed -n '/^ *1 /,/^! /p'
{ for i in $(seq 30); do echo "ST,GS,+0.00 g"; done; for i in $(seq 30); do echo "ST,GS,+6.00 g"; done; } | russet pour --recipe match.json --batch-g 60 --scale - 2>&1 > /dev/null | head -n 12
show russet sheen --target-gu 4
printf 'matte_fraction,gu60\n0,62\n.25,31\n.5,14\n.75,6.1\n1,2.4\n' > ladder.csv
quiet russet shelf ladder ladder.csv
show russet sheen --target-gu 4
echo "a correction that was logged and never poured is taken back: pot, stock and finish are as before:"
quiet russet job new --title "Stool" --piece seat --colour cognac
russet pour --recipe match.json --batch-g 60 --all-poured --out stool.json > said
russet job log 3 stool.json --colour cognac > logged
stool=$(sed -n 's/  pot  *//p' logged)
quiet russet adjust --toners toners.json --recipe stool.json --taken-g 3 --by-eye "redder 2" --backing grounds.cgats#filler --film-um 84 --out stool-adjust.json
was() { russet pot list --job 3 | tail -n 2; russet shelf show | grep 'lot '; russet finish show "Stool, cognac"; }
was > before
entry=$(russet job log 3 stool-adjust.json --colour cognac --pot "$stool" --json | sed -n 's/^ *"id": "\(.*\)",/\1/p' | head -n 1)
was > between; cmp -s before between && echo "the same all the time"
show russet job log 3 --step dabs --colour cognac --note "The card holds." --replaces "$entry"
was | diff before - && echo "as before"
show russet shop check
