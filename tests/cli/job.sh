# The whole job of the helm seat by command line: first look, plan, quote, colour, recipe, pour, a check that fails, a correction, one that
# passes, invoice, calendar, handover. Times and keys are fixed, so the transcript is the same on every day.
export RUSSET_SHOP=$PWD/shop RUSSET_SEED=1 SOURCE_DATE_EPOCH=1772442000 TZ=UTC
demo_shelf
cp "$SHIPPED"/demo/helm-seat.cgats .
quiet russet shop init
quiet russet shop pricing --currency EUR --hour 38 --overhead 9 --margin 30 --tax 20 --tax-rule line --name "Demo shop (invented)"
quiet russet shelf keep toners.json
quiet russet shelf receive white --lot W-1 --g 500
show russet job new --title "Helm seat of the launch" --customer "demo customer" --piece "seat cushion" --colour cognac --due 2026-03-20
show russet job add 1 --piece "seat cushion" --material "pigmented leather"
show russet job log 1 --step look --piece "seat cushion" --note "Bolster cracked over 12 cm, colour lost on the front edge."
quiet russet plan --craft boat --place seat --material pigmented --damage crack,worn --airbag no --area-m2 .6 --line-mm 120 --by mini-gun --out plan.json
show russet job log 1 plan.json --piece "seat cushion"
show russet quote 1 --materials 18.50 --new-part 900 --out quote.pdf
show russet quote 1 --accept
quiet russet reading helm-seat.cgats --out seat.json
show russet job log 1 seat.json --colour cognac
quiet russet match --toners toners.json --target seat.json --backing grounds.cgats#filler --film-um 84 --coat-um 12 --batch-g 60 --top 1 --out match.json
show russet job log 1 match.json --colour cognac
poured=$(sed -n '/"parts"/,/]/p' match.json | awk -F'[:,]' '/"toner"/ { gsub(/[" ]/, "", $2); t = $2 } /"g"/ { gsub(/ /, "", $2); printf "%s%s=%s", n++ ? "," : "", t, $2 }')
quiet russet pour --recipe match.json --batch-g 60 --poured "$poured" --out poured.json
russet job log 1 poured.json --colour cognac > logged; sed 's/  pot .*/  pot KEY/' logged
pot=$(sed -n 's/  pot  *//p' logged)
show russet job load --day 2026-03-20
show russet inspect 1 --sound seat.json --repair --lab=42.6,16.2,23.1 --edge panel
quiet russet adjust --toners toners.json --recipe match.json --taken-g 3 --by-eye "bluer 1" --backing grounds.cgats#filler --film-um 84 --out adjustment.json
russet job log 1 adjustment.json --colour cognac --pot "$pot" --note "A little too yellow beside the seat." | sed 's/  pot .*/  pot KEY/'
show russet finish find --words launch
show russet job log 1 --step coats --note "Seven thin coats by mini gun."
russet handover 1 --out record.pdf; echo "(exit $?)"
show russet inspect 1 --sound seat.json --repair --lab=41.2,15.1,20.6 --edge panel
show russet invoice 1 --hours 3 --out invoice.pdf
show russet job due 1 --out due.ics
echo "a program without its decoder seals no record over photographs that nobody can see:"
quiet russet job log 1 --step look --photo "$DATA/cracks/sut01.jpg"
mkdir bare && cp "$(realpath "$(command -v russet)")" bare/russet
bare/russet handover 1 --out record.pdf; echo "(exit $?)"
russet job show 1 --json | grep -c '"kind": "handover"'
show russet handover 1 --out record.pdf
for paper in quote invoice record; do
    echo "$paper: $(pdfinfo $paper.pdf | grep -E '^(Title|Tagged|Page size)' | tr -s ' ' | tr '\n' ';') fonts embedded: $(pdffonts $paper.pdf | awk 'NR > 2 { print $(NF - 4) }' | sort -u | tr '\n' ' ')"
done
echo "the record, read from top to bottom:"
pdftotext record.pdf - | grep -v '^$' | head -n 30
echo "a toner is one row, what was added counted in:"
pdftotext -layout record.pdf - | sed -n '/^ *What was used/,/^ *What to expect/p' | grep -v '^$' | tr -s ' '
echo "a row of the quote, of the invoice and of a pour sheet, read likewise:"
pdftotext quote.pdf - | grep -v '^$' | grep -A2 '^Sanding'
pdftotext invoice.pdf - | grep -v '^$' | grep -A1 '^Sanding'
quiet russet pour --recipe match.json --batch-g 60 --out sheet.pdf
pdftotext sheet.pdf - | grep -v '^$' | grep -A4 '^Binder' | head -n 5
grep -E '^(BEGIN|DTSTART|SUMMARY)' due.ics | tr -d '\r'
show russet job list
show russet shop check
echo "two devices on one job:"
seen=$(russet job log 1 --step look --note "as it was seen" --json | sed -n 's/^ *"id": "\(.*\)",/\1/p' | head -n 1)
quiet russet job log 1 --step look --note "as the first put it right" --replaces "$seen"
show russet job log 1 --step look --note "as the second put it right" --replaces "$seen"
show russet job log 1 plan.json --piece "seat cushion" --first
quiet russet job change 1 --clear due
russet job show 1 --json | grep '"due"'
echo "a look by eye without an instrument, as the page logs it, and a plan of one of two pieces:"
quiet russet job new --title "Arm rests" --piece left --piece right --colour black
show russet job log 2 plan.json
quiet russet job log 2 plan.json --piece left
echo '{"russet": "0.1.0", "kind": "eye-check", "format": 1, "lights": {"day": "hidden", "lamp": "seen"}}' > eye.json
quiet russet job log 2 eye.json --step check --piece left
russet handover 2 --out arms.pdf; echo "(exit $?)"
show russet handover 2 --even-so --out arms.pdf
russet job show 2 | tail -n 2
echo "another quote of the whole job is agreed on after the invoice: nobody pays twice:"
quiet russet quote 1 --materials 12,50
quiet russet quote 1 --accept
show russet invoice 1
