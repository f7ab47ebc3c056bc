# A shelf without an instrument: pigment names, the sheet of the first day, its dabs. What the camera said of the dabs is
# invented here (tests/camera tries it with photographs).
show russet toners start --index white=PW6,yellow-oxide=PY42,red-oxide=PR101,black=PBk7,blue=PB15:3+PW6:.1,brown=yellow-oxide+warm-black --out shelf.json
show russet toners start --index white=PW66
show russet toners start --index white
show russet toners start --index white=PW6,white=PW6
show russet card --kind start --toners shelf.json --out start.json
spot() { printf '%s{"id":"%s",%s"lab":[%s],"lab_cov":[[1.5,0,0],[0,1.5,0],[0,0,1.5]]}' "$comma" "$1" "$2" "$3"; comma=,; }
{
    comma=; printf '{"kind":"reading","format":1,"geometry":"photo","spots":['
    spot bare-black '' 17,0,0; spot bare-white '' 94,0,-3
    while read -r id lab_black lab_white; do
        case $id in *.10) parts="\"${id%.10}\":1,\"white\":9" ;; *) parts="\"$id\":1" ;; esac
        spot "$id.black" "\"dab\":\"$id\",\"over\":\"bare-black\",\"parts_g\":{$parts}," "$lab_black"
        spot "$id.white" "\"dab\":\"$id\",\"over\":\"bare-white\",\"parts_g\":{$parts}," "$lab_white"
    done <<'DABS'
white 84,-1,-1 96,-1,2
yellow-oxide 55,15,41 58,17,46
yellow-oxide.10 80,3,19 88,4,22
red-oxide 36,31,23 37,32,24
red-oxide.10 64,19,9 68,21,11
black 16,0,0 16,0,0
black.10 56,-1,-3 57,-1,-3
blue 28,3,-35 29,3,-36
blue.10 60,-16,-32 63,-17,-31
brown 28,7,18 29,7,18
brown.10 65,3,11 69,3,12
DABS
    printf ']}\n'
} > sheet.json
show russet toners fit sheet.json --prior shelf.json --out toners.json
show russet card --card start.json --values toners.json --out dabs.json
show russet match --toners toners.json --target --lab=45,18,24 --batch-g 15 --top 1
russet match --toners shelf.json --target --lab=45,18,24 --batch-g 15 --top 1 | grep -A 2 'never seen' # before any dab
show russet toners fit sheet.json --prior start.json
sed 's/"red-oxide":1/"crimson":1/' sheet.json > other.json
show russet toners fit other.json --prior shelf.json
sed 's/"over":"bare-black"/"over":"nothing"/' sheet.json > other.json
show russet toners fit other.json --prior shelf.json
# The sheet as `photo colour` tells it: what is each dab's own when the camera is fitted with the toners.
sed 's/"lab_cov":/"own_cov":[[1,0,0],[0,1,0],[0,0,1]],"lab_cov":/g' sheet.json > camera.json
russet toners fit camera.json --prior shelf.json | head -2
sed 's/"own_cov":\[\[1,/"own_cov":[[-1,/' camera.json > other.json
show russet toners fit other.json --prior shelf.json
# A dab and the spot in one photograph, as `photo colour --against` tells them.
russet toners fit camera.json --prior shelf.json --out seen.json > /dev/null
against() { printf '{"kind":"reading","format":1,"geometry":"photo","lab":[45,18,24],"against":[%s]}\n' "$1"; }
one='{"dl":-1.4,"da":1.3,"db":-0.8,"difference_u95_de00":0.3,"unlike_u95_de00":1.4}'
against "$one" > both.json
against "$one,$one" > two.json
against '{"dl":-1.4,"da":"red","db":0}' > bad.json
quiet russet match --toners seen.json --target --lab=45,18,24 --batch-g 15 --out match.json
show russet adjust --toners seen.json --recipe match.json#1 --against both.json --taken-g 2
quiet russet match --toners toners.json --target --lab=45,18,24 --batch-g 15 --out match.json
russet adjust --toners toners.json --recipe match.json#1 --against both.json --taken-g 2 | grep 'does not know'
show russet adjust --toners seen.json --recipe match.json#1 --against camera.json
show russet adjust --toners seen.json --recipe match.json#1 --against two.json
show russet adjust --toners seen.json --recipe match.json#1 --against bad.json
show russet adjust --toners seen.json --recipe match.json#1 --against both.json --state wet
show russet adjust --toners seen.json --recipe match.json#1
sed 's/"lab_cov":/"common":[[0,0,1000]],"lab_cov":/' sheet.json > other.json
show russet toners fit other.json --prior shelf.json
# Raw files of every kind that is told by its head, with nothing behind it: one sentence each.
raw() { { printf "$2"; head -c 4000 /dev/zero; } > "photo.$1"; show russet photo colour "photo.$1" --card start.json; }
raw cr2 'II*\0\020\0\0\0CR\002\0'
raw cr3 '\0\0\0\030ftypcrx \0\0\0\001crx isom'
raw nef 'MM\0*\0\0\0\010'
raw orf 'IIRO\010\0\0\0'
raw rw2 'IIU\0\010\0\0\0'
raw raf 'FUJIFILMCCD-RAW 0201FF389501'
raw x3f 'FOVb'
raw mrw '\0MRM'
mv photo.cr2 photo.jpg # by its head, not by its name
show russet photo colour photo.jpg --card start.json
