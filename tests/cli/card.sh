# The card that photographs are taken with: three kinds on paper, values coming in, and what is refused.
demo_shelf
show russet card --out own.pdf
show russet card --toners toners.json --out own.json
quiet russet card --toners toners.json --paper letter --out own.pdf
show russet card --kind frame --pitch-mm 14 --out frame.pdf
show russet card --kind start --out start.pdf
for f in own frame start; do pdfinfo "$f.pdf" | grep -E '^(Title|Pages|Page size)'; done
# Whether a millimetre is a millimetre is read back from the PDF in tests/outside/card_paper_test.

# Values by name, by place, and a sample that belongs nowhere.
flat() { printf '%s' "$1"; for _ in $(seq 400 20 700); do printf ',%s' "$2"; done; echo; } # an even curve is enough here
{ printf 'SAMPLE_ID,POS_X_MM,POS_Y_MM'; for nm in $(seq 400 20 700); do printf ',%s' "$nm"; done; echo; flat n1,, .88; flat brown,42,9 .2; flat stranger,, .3; } > values.csv
show russet card --card own.json --values values.csv --out measured.json
show russet card --values values.csv
sed '/brown/d; /n1/d' values.csv > wrong.csv
show russet card --card own.json --values wrong.csv
show russet card --chart toners.json --out x.pdf
sed 's/"36h11"/"25h9"/' own.json > other.json
show russet card --chart other.json --out x.pdf
show russet card --kind frame --pitch-mm 24 --out x.pdf

# A chart of one's own, as docs/card.md shows it: no tags, so it is put into a frame, and goes by its own name.
sed -n '/^```json chart/,/^```/{/^```/!p}' "$SHIPPED"/../docs/card.md > six.json
show russet card --chart six.json --out six.pdf
pdftotext six.pdf - | grep -E '^(Frame|Lay)'
quiet russet card --chart six.json --out framed.json
grep -E '"(name|look)"' framed.json
