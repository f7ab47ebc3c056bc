# A customer of the trade, a piece of furniture, and the shop's clock: price list, the shop's own times and guarantee, a fire rating that is
# asked before the customer is bound, a return with its cause, and days across the change of the clocks (Vienna, 2026-03-29, 01:00 UTC).
export RUSSET_SHOP=$PWD/shop RUSSET_SEED=3 SOURCE_DATE_EPOCH=1774738200 TZ=UTC
show russet price list
quiet russet shop init
show russet shop zone
show russet shop zone Middle/Earth
show russet shop zone Europe/Vienna
quiet russet shop pricing --currency EUR --hour 38 --overhead 9 --margin 30 --tax 20 --call-out 40 --per-km .50 --name "Demo shop (invented)"
show russet price list
quiet russet price set garage coat 60 --per m2
quiet russet price set garage km .35
quiet russet price set garage sheen 30
show russet price set garage call-out 0 --from 2026-01-01
show russet price set garage polish 12
show russet price set garage sheen --from 2026-03-30
show russet price list garage --day 2026-03-30
show russet customer add "demo garage" --price-list garage
show russet customer change "demo garage" --telephone "none yet" --price-list nobody
# Somebody else was first: nothing is written over.
show russet customer change "demo garage" --telephone 1 --unchanged-since none
show russet task set coat --months 3 --unchanged-since 2020-01-01T00:00:00Z
show russet price set garage km .40 --unchanged-since none
show russet shop zone machine --unchanged-since none
show russet task set coat --fixed 10,15,20 --months 24 --excluded "Not covered: claws."
show russet task set coat --each 9,3,5
show russet job new --title "Black armchair" --customer "demo garage" --piece "arm chair" --colour black
quiet russet plan --craft furniture --place cushion --material vinyl --damage crack,worn --area-m2 .4 --line-mm 80 --out plan.json
show russet job log 1 plan.json --piece "arm chair"
show russet quote 1 --km 40 --call-out
show russet quote 1 --accept
key=$(russet job show 1 --json | awk -F'"' '/"kind": "plan"/ { print id } /"id":/ { id = $4 }')
quiet russet plan --craft furniture --place cushion --material vinyl --damage crack,worn --area-m2 .4 --line-mm 80 --fire none --out plan2.json
show russet job log 1 plan2.json --piece "arm chair" --replaces "$key"
show russet quote 1 --accept
quiet russet quote 1 --km 40 --call-out
quiet russet quote 1 --accept
show russet job new --title "Black armchair, again" --customer "demo garage" --return-of 1 --cause "colour rubs off at the arm"
show russet job change 2 --return-of 2
show russet job show 1
# a quarter past the change, and the night before summer ends
russet job log 1 --step coats --note "before" --now 2026-03-29T00:59:59Z > logged
russet job log 1 --step coats --note "after" --now 2026-03-29T01:00:00Z > logged
russet job log 1 --step coats --note "first half past two" --now 2026-10-25T00:30:00Z > logged
russet job log 1 --step coats --note "second half past two" --now 2026-10-25T01:30:00Z > logged
russet job show 1 | grep -A1 -E '^  coats' | grep -v -e --
# it is the 29th in Vienna when it is still the 28th in UTC
russet invoice 1 --now 2026-03-28T23:30:00Z --json | grep -E '"(day|pay_until)"'
russet job load --now 2026-03-28T23:30:00Z --json | grep '"day"'
# Every plan that still asks is named, with the key that --replaces takes; a colour's role and pieces are put right.
quiet russet job new --title "Suite" --customer "demo garage" --piece "arm chair" --piece "foot stool" --colour black --colour thread
quiet russet job log 3 plan.json --piece "arm chair"
quiet russet job log 3 plan.json --piece "foot stool"
quiet russet quote 3
show russet quote 3 --accept
quiet russet job add 3 --colour thread --role thread
quiet russet job add 3 --colour thread --piece "foot stool" --off
show russet job add 3 --colour thread --piece "no such piece" --off
russet job show 3 --json | sed -n '/"colours"/,/"steps"/p' | grep -E '"(name|role|pieces)"' | sed -E 's/"[0-9a-f-]{36}"/KEY/g; s/^ *//'
