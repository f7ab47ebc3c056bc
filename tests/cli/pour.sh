# From a recipe to the cup: order, windows, an over-pour and its rescue, the sheet and its QR code. The recipe is invented (tests/data/pour).
cp "$DATA"/pour/match.json "$DATA"/pour/toners.json .
show russet pour --recipe match.json --batch-g 60 --name "cognac helm seat"
show russet pour --recipe match.json --batch-g 60 --poured binder=6,black=.77,oxide-red=3.9
show russet pour --recipe match.json --batch-g 60 --poured binder=6,black=.84
show russet pour --recipe match.json --batch-g 60 --all-poured
show russet pour --recipe match.json --batch-g 60 --all-poured --poured binder=6
show russet pour --recipe match.json --batch-g 60 --poured binder=6,black=1.1
show russet pour --recipe match.json --batch-g 60 --poured binder=6,black=1.1 --pot-g 70
# The rescue was poured as told: the pot is right, and larger than planned.
show russet pour --recipe match.json --batch-g 60 --poured binder=37.75,black=1.1,oxide-red=5.02,white=1.12,oxide-yellow=19.06
show russet pour --recipe match.json --batch-g 60 --poured binder=6,black=2.4 --pot-g 65
show russet pour --recipe match.json#2 --batch-g 15 --let-downs never
show russet pour --recipe match.json --batch-g 12 --thinner-percent 10 --slip-percent 3 --crosslinker-percent 2 --crosslinker isocyanate --spray-g 10
show russet pour --recipe match.json --batch-g 60 --json
# A coarse scale cannot give a trace back: it is said.
show russet pour --recipe match.json --batch-g 20 --scale-step .1 --let-downs never --poured binder=4,oxide-red=1.6
# With let-downs it can: the rescue pours them, and the pot is right when they are in.
show russet pour --recipe match.json --batch-g 20 --scale-step .1 --poured binder=4,oxide-red=1.6
show russet pour --recipe match.json --batch-g 20 --scale-step .1 --poured binder=6.8,oxide-red=1.6,oxide-yellow=6.1,black:10=3.1,white:10=2.8
quiet russet pour --recipe match.json --batch-g 20 --scale-step .1 --poured binder=4,oxide-red=1.6 --out rescue.pdf
pdftotext -layout rescue.pdf - | grep -E "over-pour|let down|stir" | sed 's/  */ /g'
# So pinches are planned as let-downs; a stock that is silent of a toner is told.
echo '{"stock": {"white": 40, "black": 9}}' > stock.json
show russet match --toners toners.json --target --lab=40,16,21 --batch-g 20 --scale-step .1 --stock stock.json --top 2 --out planned.json
show russet pour --recipe planned.json --batch-g 20 --scale-step .1
# The sheet's QR code is the recipe.
quiet russet pour --recipe match.json --batch-g 60 --name "cognac helm seat" --out sheet.pdf
quiet russet pour --recipe match.json --batch-g 60 --name "cognac helm seat" --out again.pdf
cmp sheet.pdf again.pdf && head -c 5 sheet.pdf && echo
pdftoppm -r 300 -f 1 -l 1 -png -singlefile sheet.pdf sheet
zbarimg -q --raw sheet.png 2>/dev/null > recipe.txt
show russet pour --recipe recipe.txt --batch-g 60
russet pour --recipe - --batch-g 60 < recipe.txt | head -1
russet pour --recipe match.json --batch-g 60 --json > pour.json
russet pour --recipe pour.json --batch-g 30 | head -1
# What is wrong is said.
show russet pour --recipe match.json --batch-g 0
show russet pour --recipe match.json --batch-g .2
show russet pour --recipe match.json#3 --batch-g 60
show russet pour --recipe match.json#x --batch-g 60
show russet pour --recipe toners.json --batch-g 60
show russet pour --recipe match.json --batch-g 60 --poured blue=1
show russet pour --recipe match.json --batch-g 60 --poured black=-1
show russet pour --recipe match.json --batch-g 60 --poured black:20=1
show russet pour --recipe match.json --batch-g 60 --poured black=1 --taken-g 2
show russet pour --recipe match.json --batch-g 60 --pot-g 50
show russet pour --recipe match.json --batch-g 60 --spray-g 70 --slip-percent 1
show russet pour --recipe match.json --batch-g 60 --out sheet.svg
head -c 500 recipe.txt > cut.txt
show russet pour --recipe cut.txt --batch-g 60
# How the toners look.
show russet toners swatch toners.json --out swatch.pdf
head -c 5 swatch.pdf; echo
quiet russet toners swatch toners.json --out swatch.svg
quiet russet toners swatch toners.json --out swatch.png
head -c 5 swatch.svg; echo
show russet toners swatch match.json
