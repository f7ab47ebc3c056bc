# A mix foretold: opaque, as a film, under a sheen; and every way to ask wrongly.
S=$DATA/shelf/acrylics.json
MIX=white=12.5,red=1.2,yellow=2,black=0.4,binder=20
show russet predict --toners $S --parts $MIX
show russet predict --toners $S --parts $MIX --backing $DATA/shelf/crust.csv --film-um 24 --json
show russet predict --toners $S --parts black=4,binder=16 --geometry sce --sheen-gu 3
show russet predict --toners $S --parts yellow=0.02,binder=20 --coat-um 8
show russet predict --toners $DATA/shelf/acrylics-relative.json --parts $MIX --backing $DATA/shelf/crust.csv --film-um 24
show russet predict --toners $S --parts white=1,mauve=2
show russet predict --toners $S --parts white=0,black=0
show russet predict --toners $S --parts white=-1
show russet predict --toners $S --parts $MIX --film-um 0
show russet predict --toners $S --parts $MIX --film-um 24
show russet predict --toners $S --parts $MIX --backing $DATA/shelf/crust.csv
show russet predict --toners $S --parts $MIX --backing --lab=40,10,20 --film-um 24
printf '{"kind":"reading","format":1,"id":"b","geometry":"45-0","reflectance":[%s0.1]}\n' "$(printf '0.1,%.0s' $(seq 30))" > backing.json
show russet predict --toners $S --parts $MIX --backing backing.json --film-um 24
show russet predict --toners $DATA/shelf/crust.csv --parts $MIX
