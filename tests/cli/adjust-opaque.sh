# Corrections of an opaque film, where binder changes nothing: none is added to a pot that is kept whole, and a pot that is mostly
# kept leaves room for what is new. The cards are invented.
S=$DATA/shelf/acrylics.json
POT=white=10,red=1,yellow=4,black=0.4,binder=20
head='SAMPLE_ID,400,410,420,430,440,450,460,470,480,490,500,510,520,530,540,550,560,570,580,590,600,610,620,630,640,650,660,670,680,690,700'
printf '%s\n%s\n' "$head" "card,.3$(printf ',.3%.0s' $(seq 30))" > card.csv
show russet adjust --toners $S --pot $POT --by-eye 'redder 1'
show russet adjust --toners $S --pot $POT --ring
# A ring that would take the whole pot, and a cup that has no ring in it: what would be right is said.
show russet adjust --toners $S --pot $POT --ring --dab-g 6
show russet adjust --toners $S --pot $POT --ring --taken-g 32.5
show russet adjust --toners $S --pot $POT --target "$DATA/shelf/crust.csv" --measured card.csv
show russet adjust --toners $S --pot $POT --target "$DATA/shelf/crust.csv" --measured card.csv --pot-g 36
