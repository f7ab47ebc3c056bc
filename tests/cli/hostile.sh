# Files and calls that nobody should hand in, and that somebody will: every verb, one sentence, the right exit code, nothing half written.
# The numbers are invented. What `options` tries (every option's bounds) is not repeated here.
cp "$DATA"/shelf/acrylics.json toners.json
cp "$DATA"/shelf/crust.csv crust.csv
cp "$DATA"/pour/match.json match.json
cp "$DATA"/formats/spelling-0.txt good.txt
cp "$SHIPPED"/demo/drawdowns.cgats "$SHIPPED"/demo/about.json .
printf 'matte_fraction,gu20,gu60,gu85\n0,68,87,95\n.5,4,13,51\n1,.4,3,11\n' > ladder.csv
printf '{"kind":"results","format":1,"results":[]}\n' > results.json
P=white=12.5,black=0.4,binder=20

# "bad NAME": every way to hand the file NAME to a verb. The files here are listed after each, so that nothing else was left.
before=$(ls -A)
nothing_new() { diff <(echo "$before") <(ls -A) > /dev/null || { echo "LEFT BEHIND:"; diff <(echo "$before") <(ls -A); }; }
every_reader() { # every_reader FILE: exit code and sentence of each place that takes a file
    before=$(ls -A)
    show russet reading "$1"
    show russet compare "$1" crust.csv --geometry sci
    show russet compare good.txt crust.csv --lamp "$1" --geometry sci
    show russet toners fit "$1" --out new.json
    show russet toners fit drawdowns.cgats --about "$1" --out new.json
    show russet toners show "$1"
    show russet toners swatch "$1" --out new.pdf
    show russet toners learn --toners "$1" --log results.json --out new.json
    show russet toners learn --toners toners.json --log "$1" --out new.json
    show russet predict --toners "$1" --parts $P --out new.json
    show russet predict --toners toners.json --parts $P --backing "$1" --film-um 20 --out new.json
    show russet match --toners "$1" --target crust.csv --out new.json
    show russet match --toners toners.json --target "$1" --out new.json
    show russet match --toners toners.json --target crust.csv --backing "$1" --film-um 20 --out new.json
    show russet match --toners toners.json --target crust.csv --stock "$1" --out new.json
    show russet pour --recipe "$1" --batch-g 60 --out new.pdf
    show russet adjust --toners "$1" --pot $P --by-eye 'redder 1' --out new.json
    show russet adjust --toners toners.json --pot $P --target "$1" --measured crust.csv --out new.json
    show russet adjust --toners toners.json --pot $P --target crust.csv --measured "$1" --out new.json
    show russet adjust --toners toners.json --pot $P --target crust.csv --measured crust.csv --history "$1" --out new.json
    show russet amount --area-m2 1 --film-um 30 --solids-volume .3 --by gun --recipe "$1" --out new.json
    show russet coats --area-m2 1 --film-um 30 --solids-volume .3 --recipe "$1" --out new.pdf
    show russet sheen --ladder "$1" --target-gu 5 --out new.json
    nothing_new
}

echo "== an empty file"
: > empty
every_reader empty
echo "== bytes of a picture"
printf '\211PNG\r\n\032\n\0\0\0\rIHDR\0\0\1\0' > picture
every_reader picture
echo "== a folder"
mkdir folder
every_reader folder
echo "== nothing of that name"
every_reader nowhere
echo "== JSON 100000 deep"
head -c 100000 /dev/zero | tr '\0' '[' > deep.json
every_reader deep.json
echo "== of a newer format"
printf '{"russet":"9.0","kind":"toners","format":2,"toners":{}}\n' > newer.json
every_reader newer.json
echo "== of another kind"
printf '{"russet":"0.1.0","kind":"air","format":1}\n' > kind.json
every_reader kind.json
echo "== names that command a terminal"
printf '{"kind":"\\u001b[2J\\u0007","format":1}\n' > escape.json
every_reader escape.json

# A file that may not be read. Root reads everything, so what it must look like is then written here.
echo "== locked"
printf 'wavelength,value\n' > locked.csv
chmod 0 locked.csv
if [ -r locked.csv ]; then
    printf '%s\n' '$ russet reading locked.csv' 'russet: locked.csv: cannot be opened (Permission denied). Check the name and that you may read it.' '(exit 3)'
else
    show russet reading locked.csv
fi

echo "== readings"
head='SAMPLE_ID,400,410,420,430,440,450,460,470,480,490,500,510,520,530,540,550,560,570,580,590,600,610,620,630,640,650,660,670,680,690,700'
thirty=$(printf ',.1%.0s' $(seq 30))
row() { printf '%s\n%s\n' "$head" "a$1$thirty" > row.csv; show russet reading row.csv; }
for value in ,nan ,NaN ,inf ,-1 ,-.5 ,1e308 ,1e309 ,-1e308 ,1e-400 ,0x1p3 ,'1,1' ,'"' ,; do row "$value"; done
printf '%s\n%s\n' "$head" "a$thirty" > row.csv; show russet reading row.csv
printf 'wavelength,value\n400,.1\n410,.1\n430,.1\n' > gap.csv; show russet reading gap.csv
printf 'wavelength,value\n400,.1\n400,.1\n' > twice.csv; show russet reading twice.csv
{ echo wavelength,value; for i in $(seq 450 10 650); do echo "$i,.1"; done; } > narrow.csv; show russet reading narrow.csv
printf '%s\n%s\n%s\n' "$head" "a,.1$thirty" "a,.2$thirty" > same.csv; show russet reading same.csv#a
show russet reading same.csv#NOPE
show russet reading 'same.csv#'
show russet reading '#a'
show russet reading $'a\033[2J\nb.csv'
printf '%s\n%s\n' "$head" $'a\033[2J\a'",.1$thirty" > escape.csv; show russet reading escape.csv
printf '{"kind":"reading","format":2,"reflectance":[]}\n' > newer-reading.json; show russet reading newer-reading.json
printf '{"kind":"match","format":2,"recipes":[]}\n' > newer-match.json; show russet pour --recipe newer-match.json --batch-g 60
sed 's/$/\r/' same.csv > crlf.csv; { printf '\357\273\277'; cat same.csv; } > bom.csv
iconv -f UTF-8 -t UTF-16LE bom.csv > utf16.csv
for same in crlf bom utf16; do cmp <(russet reading $same.csv --json | grep -v '"id"\|\.csv') <(russet reading same.csv --json | grep -v '"id"\|\.csv'); done
head -c -1 utf16.csv > cut16.csv; show russet reading cut16.csv
printf "%s\n" "$head" $'caf\351'",.1$thirty" > latin.csv; show russet reading latin.csv --json
show russet reading - < empty
show russet reading - < folder
show russet reading -
show russet reading - - < same.csv

echo "== a shelf that was cut"
size=$(wc -c < toners.json)
for at in 1 2 17 100 "$((size / 2))" "$((size - 3))" "$((size - 2))"; do
    head -c "$at" toners.json > cut.json
    show russet match --toners cut.json --target crust.csv --out new.json
done
echo "== a shelf that was changed"
shelf() { sed "$1" toners.json > bad.json; show russet predict --toners bad.json --parts $P; }
shelf 's/"format": 1/"format": 2/'
shelf 's/"format": 1/"format": "1"/'
shelf 's/"format": 1/"format": 1.5/'
shelf 's/"format": 1/"format": 1e400/'
shelf 's/"k": \[[^,]*,/"k": [-1,/'
shelf 's/"k": \[[^,]*,/"k": [1e308,/'
shelf 's/"k": \[[^,]*,/"k": [NaN,/'
shelf 's/"k": \[[^,]*,/"k": [/'
shelf 's/"s": \[[^,]*,/"s": [null,/'
shelf 's/"white": {/"White Spirit": {/'
shelf 's/"white": {/"black": {/'
shelf 's/"solids": [0-9.]*/"solids": 0/'
shelf 's/"k1": [0-9.]*/"k1": 2/'
shelf 's/"role": "white"/"role": "king"/'
shelf 's/"geometry": "[^"]*"/"geometry": "moon"/'

echo "== drawdowns"
films() { printf '%s\n' "SAMPLE_ID,BACKING,FILM_UM,MIX_white,MIX_binder${head#SAMPLE_ID}" "$@" > films.csv; show russet toners fit films.csv; }
films "a,-,,1,1,.1$thirty" "a,-,,2,1,.1$thirty"
films "a,-,,-1,1,.1$thirty"
films "a,-,,1e308,1,.1$thirty"
films "a,card,20,1,1,.1$thirty"
films "card,,,,,.1$thirty" "a,card,0,1,1,.1$thirty"
films "card,,,,,.1$thirty" "a,card,nan,1,1,.1$thirty"
films "a,a,20,1,1,.1$thirty"
films "card,,,,,.1$thirty"
films
films "a,-,,1,1,0${thirty//.1/0}"
films "a,-,,1,1,1${thirty//.1/1}"
films "a,-,,1,1,.1$thirty"

echo "== asked for what cannot be"
show russet match --toners toners.json --target crust.csv --require mauve
show russet match --toners toners.json --target crust.csv --exclude mauve
show russet match --toners toners.json --target crust.csv --require white --exclude white
show russet match --toners toners.json --target crust.csv --most mauve=.1
show russet match --toners toners.json --target crust.csv --binder-fraction .8,.4
show russet match --toners toners.json --target crust.csv --weights 1,1
show russet match --toners toners.json --target crust.csv --illuminants D65,D65
show russet match --toners toners.json --target crust.csv --batch-g .01 --scale-step 1
show russet match --toners - --target - < toners.json
show russet match --toners toners.json --target --lab=nan,0,0
show russet match --toners toners.json --target --lab=50,0
show russet match --toners toners.json --target --lab=131,0,0
show russet match --toners toners.json --target crust.csv#NOPE
show russet predict --toners toners.json --parts white=0
show russet predict --toners toners.json --parts mauve=1
show russet predict --toners toners.json --parts white=1,white=2
show russet predict --toners toners.json --parts white=1e308
show russet pour --recipe match.json#0 --batch-g 60
show russet pour --recipe match.json#99999999999999999999 --batch-g 60
show russet pour --recipe match.json --batch-g 60 --poured mauve=1
show russet adjust --toners toners.json --pot mauve=1 --by-eye 'redder 1'
show russet adjust --toners toners.json --pot white=0 --by-eye 'redder 1'
show russet adjust --toners toners.json --pot $P --taken-g 90000 --by-eye 'redder 1'
show russet adjust --toners toners.json --pot $P --by-eye 'nicer 1'
show russet adjust --toners toners.json --pot $P --by-eye 'redder nan'
show russet adjust --toners toners.json --pot $P --by-eye 'redder 1e308'
show russet adjust --toners toners.json --pot $P
show russet adjust --toners toners.json --pot $P --ring --nearest 9
show russet amount --area-m2 1 --film-um 30 --solids-volume .3
show russet coats --area-m2 1 --film-um 30 --solids-volume .3 --fan nan
show russet coats --area-m2 1 --film-um 30 --solids-volume .3 --flow 1e308
show russet coats --area-m2 1 --film-um 30 --solids-volume .3 --start 25:00
show russet sheen --ladder ladder.csv --target-gu 5 --measured 2=5
show russet sheen --ladder ladder.csv --target-gu 5 --measured .5=nan
show russet units 1e400psi
show russet units -40C F
show russet units -1um mil
show russet units -x
show russet units 30psi um
show russet units ''

show russet pour --recipe match.json --batch-g 60 --scale nowhere
show russet pour --recipe match.json --batch-g 60 --scale folder
show russet pour --recipe match.json --batch-g 60 --scale picture
show russet pour --recipe match.json --batch-g 60 --scale - --log folder
show russet pour --recipe match.json --batch-g 60 --scale - --pattern '{nonsense}'
show russet pour --recipe - --batch-g 60 --scale -

echo "== where it is written"
before=$(ls -A)
A="russet air --air-c 20 --rh 50 --surface-c 20"
show $A --out folder
show $A --out nowhere/air.json
show $A --out air.json/
show $A --out air.pdf
show $A --out air.PNG
show $A --out ''
show $A --out "$(head -c 300 /dev/zero | tr '\0' n).json"
show $A --out /dev/full
show russet coats --area-m2 1 --film-um 30 --solids-volume .3 --out /dev/full
for verb in "$A" "$A --json" "russet --help" "russet --version" "russet --manual" "russet --completion" "russet match --help" "russet predict --toners toners.json --parts $P"; do
    echo "\$ $verb > /dev/full"
    $verb > /dev/full || echo "(exit $?)"
done
nothing_new
# What was there stays when the work fails, and only then.
echo 'the old one' > old.json
show russet match --toners toners.json --target nowhere --out old.json
show russet match --toners toners.json --target crust.csv --require mauve --out old.json
$A --out old.json > /dev/full || echo "(exit $?)"
head -n 3 old.json
ln -s old.json link.json
quiet $A --json --out link.json
[ -L link.json ] && head -n 3 old.json
chmod 640 old.json && quiet russet reading --lab=50,0,0 --out old.json && stat -c %a old.json
ls -A | grep -E '\.tmp|^new\.' && echo "LEFT BEHIND"
true
