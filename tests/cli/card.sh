# The card that photographs are taken with: three kinds on paper, values coming in, and what is refused.
cp "$SHIPPED"/demo/{drawdowns.cgats,about.json} .
quiet russet toners fit drawdowns.cgats --about about.json --out toners.json
show russet card --out own.pdf
show russet card --toners toners.json --out own.json
quiet russet card --toners toners.json --paper letter --out own.pdf
show russet card --kind frame --pitch-mm 14 --out frame.pdf
show russet card --kind start --out start.pdf
for f in own frame start; do pdfinfo "$f.pdf" | grep -E '^(Title|Pages|Page size)'; done
# Whether a millimetre is a millimetre is read back from the PDF in tests/outside/card_paper_test.

# Values by name, by place, and a sample that belongs nowhere.
printf 'SAMPLE_ID,POS_X_MM,POS_Y_MM,400,450,500,550,600,650,700\nn1,,,.8,.85,.88,.88,.88,.88,.88\nbrown,42,9,.05,.06,.08,.12,.2,.26,.3\nstranger,,,.3,.3,.3,.3,.3,.3,.3\n' > values.csv
show russet card --card own.json --values values.csv --out measured.json
show russet card --values values.csv
printf 'SAMPLE_ID,400,450,500,550,600,650,700\nnobody,.8,.85,.88,.88,.88,.88,.88\n' > wrong.csv
show russet card --card own.json --values wrong.csv
show russet card --chart toners.json --out x.pdf
sed 's/"36h11"/"25h9"/' own.json > other.json
show russet card --chart other.json --out x.pdf
show russet card --kind frame --pitch-mm 24 --out x.pdf
